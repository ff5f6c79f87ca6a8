package discord_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord/discordtest"
)

func TestMenus(t *testing.T) {
	t.Parallel()
	c := open(t)
	got := c.ask(t, "/shed many", nil)
	require.Len(t, got.Buttons(), 3)
	require.Contains(t, c.press(t, got, "What next?", "rake 7").Text(), "rake7 1")
	require.Contains(t, c.press(t, got, "What next? (3)", "rake 59").Text(), "rake59 1")
}

func TestForms(t *testing.T) {
	t.Parallel()
	c := open(t)
	offered := c.ask(t, "/shed offer", nil)
	asked, err := c.member.Press(offered, "Add a tool")
	require.NoError(t, err)
	form, err := asked.Form()
	require.NoError(t, err)
	require.Len(t, form.Inputs, 5)
	_, err = c.member.Submit(form, discordtest.Values{"tool": "rake"})
	require.ErrorContains(t, err, "count")
	sent, err := c.member.Submit(form, discordtest.Values{"tool": "rake", "count": "plenty", "wood": "ash"})
	require.NoError(t, err)
	refused, err := sent.Wait()
	require.NoError(t, err)
	require.Contains(t, refused.Text(), "no whole number")
	asked, err = c.member.Press(refused, "Change it")
	require.NoError(t, err)
	form, err = asked.Form()
	require.NoError(t, err)
	sent, err = c.member.Submit(form, discordtest.Values{"count": "4"})
	require.NoError(t, err)
	got, err := sent.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "rake 4 false ash")

	pick := c.press(t, offered, "Lend one")
	require.True(t, pick.Private)
	require.Equal(t, "lent to "+c.member.User.ID, strings.TrimSpace(c.press(t, pick, "who takes it", c.member.User.ID).Text()))
}

// TestLongerRequestsHaveForms: asked with nothing, one that lacks something opens its form, and one that shows what is set
// offers it.
func TestLongerRequestsHaveForms(t *testing.T) {
	t.Parallel()
	c := open(t)
	asked, err := c.member.Slash(c.channel, "/shed paint", nil)
	require.NoError(t, err)
	form, err := asked.Form()
	require.NoError(t, err)
	require.Equal(t, []string{"colour", "coats"}, []string{form.Inputs[0].Label, form.Inputs[1].Label})
	sent, err := c.member.Submit(form, discordtest.Values{"colour": "green", "coats": "2"})
	require.NoError(t, err)
	got, err := sent.Wait()
	require.NoError(t, err)
	require.Equal(t, "green 2   0", got.Text())

	set := c.ask(t, "/shed set", nil)
	asked, err = c.member.Press(set, "Fill in a form")
	require.NoError(t, err)
	form, err = asked.Form()
	require.NoError(t, err)
	sent, err = c.member.Submit(form, discordtest.Values{"lock": "oak bar"})
	require.NoError(t, err)
	got, err = sent.Wait()
	require.NoError(t, err)
	require.Equal(t, "lock oak bar", got.Text())
	require.Empty(t, got.Buttons())
}

// TestFilesComeIn: a file sent along is fetched at once, without the token, and one that is too large is not.
func TestFilesComeIn(t *testing.T) {
	t.Parallel()
	c := open(t)
	small := c.service.Upload("shed.png", "image/png", []byte("a picture"))
	require.Equal(t, "green 0 shed.png image/png 9", c.ask(t, "/shed paint", discordtest.Values{"colour": "green", "picture": small}).Text())
	large := c.service.Upload("shed.png", "image/png", make([]byte, bot.Largest+1))
	require.Contains(t, c.ask(t, "/shed paint", discordtest.Values{"colour": "green", "picture": large}).Text(), "more than 20 MB")
	c.service.Forget(small)
	require.Contains(t, c.ask(t, "/shed paint", discordtest.Values{"colour": "green", "picture": small}).Text(), "Send it again")
}

// TestKeptRequests: what does not fit on a button is kept, for its co-op, also for a program started anew.
func TestKeptRequests(t *testing.T) {
	t.Parallel()
	c := open(t)
	offered := c.ask(t, "/shed offer", nil)
	require.Contains(t, c.press(t, offered, "A long one").Text(), "rake 3 false   359")
	for key, k := range c.memory.kept {
		require.Equal(t, c.guild.ID, k.Coop)
		k.Who = "somebody else"
		c.memory.kept[key] = k
	}
	require.Contains(t, c.press(t, offered, "A long one").Text(), "somebody else's")
	clear(c.memory.kept)
	require.Contains(t, c.press(t, offered, "A long one").Text(), "400 days")
}
