package discord_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord/discordtest"
)

func TestCommandsCarryFields(t *testing.T) {
	t.Parallel()
	c := open(t)
	got := c.ask(t, "/shed add", discordtest.Values{"tool": "rake", "count": "3", "sharp": "true", "wood": "ash", "bought": "2027-03-01"})
	require.Equal(t, "rake 3 true ash 2027-03-01 0", got.Text())
	_, err := c.member.Slash(c.channel, "/shed add", discordtest.Values{"tool": "rake", "count": "300"})
	require.ErrorContains(t, err, "count", "the client knows the bounds")
	got = c.ask(t, "/shed lend", discordtest.Values{"to": "Orla", "by": "#swaps"})
	require.Equal(t, "lent to "+c.member.User.ID+" #swaps", got.Text())
	require.Equal(t, "Orla in Weir Lane Growers", c.ask(t, "/where", nil).Text())
}

func TestNamesDoNothing(t *testing.T) {
	t.Parallel()
	c := open(t)
	for typed, shown := range map[string]string{
		"**Gilt**":                     `\*\*Gilt\*\*`,
		"@everyone":                    "@\u200beveryone",
		"<@123> <#4> <t:1:D>":          "\\<@\u200b123> \\<#4> \\<t:1:D>",
		"https://x.example discord.gg": "https\u200b://x.example discord\u200b.gg",
		"[a](b)":                       `\[a\](b)`,
		"# big":                        `\# big`,
		"1. one":                       `1\. one`,
		"`code` ||spoiler||":           "\\`code\\` \\|\\|spoiler\\|\\|",
	} {
		got := c.ask(t, "/shed add", discordtest.Values{"tool": typed, "count": "3"})
		require.Equal(t, shown+" 3 false   0", got.Text())
		require.Empty(t, got.Pings)
	}
}

func TestCompletion(t *testing.T) {
	t.Parallel()
	c := open(t)
	choices, err := c.member.Complete(c.channel, "/shed add", discordtest.Values{"tool": "sp", "count": "3"}, "tool")
	require.NoError(t, err)
	require.Len(t, choices, 1)
	require.Equal(t, "spade", choices[0].Name)
	choices, err = c.member.Complete(c.channel, "/shed add", discordtest.Values{"tool": "x"}, "tool")
	require.NoError(t, err)
	require.Empty(t, choices, "a value too long to be sent is not offered")
	choices, err = c.member.Complete(c.channel, "/shed add", discordtest.Values{"bought": "1 mar 2027"}, "bought")
	require.NoError(t, err)
	require.Equal(t, "Mon 1 Mar 2027", choices[0].Name)
}

func TestCards(t *testing.T) {
	t.Parallel()
	c := open(t)
	wide := c.ask(t, "/shed wide", nil)
	require.Equal(t, "Wide", wide.Embeds[0].Title)
	require.Equal(t, "**Gilt \\*Edge\\***\nplace the long glasshouse · what is due there take the tip out of each", wide.Embeds[0].Description)

	asked, err := c.member.Slash(c.channel, "/shed narrow", nil)
	require.NoError(t, err)
	first, err := asked.Wait()
	require.NoError(t, err)
	rest, err := asked.FollowUps(1, recovery)
	require.NoError(t, err)
	all := first.Text() + rest[0].Text()
	for n := range 300 {
		require.Contains(t, all, fmt.Sprintf("rake %d ", n))
	}
	require.Equal(t, "1 of 2", first.Embeds[0].Footer.Text)
	require.Contains(t, first.Text(), "```\ntool      count\nrake 0        0\n")

	book := c.ask(t, "/shed book", nil)
	require.Contains(t, book.Text(), "The whole is in the attached file")
	require.Contains(t, string(book.Attachments[0].Data), strings.Repeat("A line of it.\n\n", 1999))
	require.Equal(t, "name,off\n'=1+1,-3\n' -2,-3\n'＝HYPERLINK(A1),-3\nrake = 1,-3\n", string(book.Attachments[1].Data), "nothing for a spreadsheet to reckon")

	chart := c.ask(t, "/shed chart", nil)
	require.Equal(t, "attachment://the-year.png", chart.Embeds[0].Image.URL)
	require.Equal(t, "Bars from March to October", chart.Attachments[0].Description)
}

func TestPrivacy(t *testing.T) {
	t.Parallel()
	c := open(t)
	require.True(t, c.ask(t, "/shed secret", nil).Private)
	require.False(t, c.ask(t, "/shed wide", nil).Private)
	refused := c.ask(t, "/shed burn", nil)
	require.True(t, refused.Private)
	require.Contains(t, refused.Text(), "Only a steward")
}

func TestSlowAnswers(t *testing.T) {
	t.Parallel()
	c := open(t)
	asked, err := c.member.Slash(c.channel, "/shed slow", discordtest.Values{"private": "true"})
	require.NoError(t, err)
	behind, err := c.member.Slash(c.channel, "/shed secret", nil) // waits behind the slow one, beyond 3 s of nothing
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err)
	require.Equal(t, "at last", got.Text())
	require.True(t, got.Private)
	require.True(t, asked.Deferred())
	require.GreaterOrEqual(t, asked.Took(), 1500*time.Millisecond)
	require.Less(t, asked.Took(), 3*time.Second, "what the platform waits")
	if *quiet {
		require.InDelta(t, 1.5, asked.Took().Seconds(), 0.1)
	}
	got, err = behind.Wait()
	require.NoError(t, err)
	require.Equal(t, "sh", got.Text())

	public, err := c.member.Slash(c.channel, "/shed slow", nil)
	require.NoError(t, err)
	got, err = public.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "below")
	below, err := public.FollowUps(1, recovery)
	require.NoError(t, err)
	require.Equal(t, "at last", below[0].Text())
	require.False(t, below[0].Private)
}

func TestStewards(t *testing.T) {
	t.Parallel()
	c := open(t)
	c.guild.AddRole("stewards", c.member)
	got := c.ask(t, "/shed burn", nil)
	require.Equal(t, "All of it?", got.Text())
	require.Equal(t, "burnt", c.press(t, got, "Yes, do it").Text())
	manager := c.guild.AddMember("Wen", discordtest.ManageServer)
	asked, err := manager.Slash(c.channel, "/shed burn", nil)
	require.NoError(t, err)
	got, err = asked.Wait()
	require.NoError(t, err)
	require.Equal(t, "All of it?", got.Text())
}

func TestDeliver(t *testing.T) {
	t.Parallel()
	c := open(t)
	since := time.Now().Add(-time.Second)
	id, err := c.adapter.Deliver(t.Context(), c.channel.ID, c.guild.ID, "notice 2027-03-01", bot.Reply{Title: "This morning", Text: "Frost tonight."})
	require.NoError(t, err)
	got := c.channel.Messages()
	require.Len(t, got, 1)
	require.Empty(t, got[0].Pings)
	found, err := c.conn.Find(t.Context(), c.channel.ID, "notice 2027-03-01", since)
	require.NoError(t, err)
	require.Equal(t, id, found)

	_, err = c.adapter.Deliver(t.Context(), c.channel.ID, c.guild.ID, "b", bot.Reply{Text: "Your stops.", Next: []bot.Next{{Label: "Where", Request: "/where"}}}, c.member.User.ID)
	require.NoError(t, err)
	got = c.channel.Messages()
	require.Equal(t, []string{c.member.User.ID}, got[1].Pings)
	require.Equal(t, "Orla in Weir Lane Growers", c.press(t, got[1], "Where").Text())
}
