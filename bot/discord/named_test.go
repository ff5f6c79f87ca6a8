package discord_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot/discord/discordtest"
)

// TestNamesOfChannels: a reply names a channel as those know it who read the reply, and never to anyone who cannot see it.
func TestNamesOfChannels(t *testing.T) {
	t.Parallel()
	c := open(t)
	council, shut := c.guild.AddMember("Wen", 0), c.guild.AddMember("Ada", discordtest.Administrator)
	role := c.guild.AddRole("council", council)
	open, hidden := c.guild.AddChannel("bench"), c.guild.AddChannel("accounts")
	hidden.Hide(role)
	inside := hidden.AddThread("dues")
	told := func(m *discordtest.Member, where, quietly string) string {
		asked, err := m.Slash(c.channel, "/shed lend", discordtest.Values{"to": "Orla", "by": where, "quietly": quietly})
		require.NoError(t, err)
		got, err := asked.Wait()
		require.NoError(t, err, c.log)
		_, name, _ := strings.Cut(got.Text(), c.member.User.ID+" ")
		return name
	}
	for _, quietly := range []string{"true", "false"} {
		require.Equal(t, "#bench", told(c.member, open.ID, quietly))
		require.Equal(t, hidden.ID, told(c.member, hidden.ID, quietly), "who cannot see it learns no name")
	}
	require.Equal(t, "#accounts", told(council, hidden.ID, "true"))
	require.Equal(t, hidden.ID, told(council, hidden.ID, "false"), "others read it too")
	require.Equal(t, "#accounts", told(shut, hidden.ID, "true"))
	c.member.Own()
	require.Equal(t, "#accounts", told(c.member, hidden.ID, "true"))
	for thread, name := range map[*discordtest.Channel]string{inside: inside.ID, open.AddThread("pots"): "#pots"} {
		got := c.ask(t, "/shed add", discordtest.Values{"tool": thread.ID, "count": "1"})
		require.Equal(t, name, strings.TrimPrefix(strings.Fields(got.Text())[0], `\`), "a thread is as open as its channel")
	}
}
