package discord_test

import (
	"context"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
)

// TestEndingIsNoFailure: what is still looked up when the program is told to end is cut short, and nothing failed.
func TestEndingIsNoFailure(t *testing.T) {
	t.Parallel()
	c := outfit(t)
	looking := make(chan struct{})
	c.open(t, discord.Homes{Reach: func(ctx context.Context, _, _ string) (bool, error) {
		close(looking)
		<-ctx.Done()
		return false, ctx.Err()
	}}, discord.Servers{})
	c.ask(t, "/where", nil)
	<-looking
	c.stop()
	require.NotContains(t, c.log.String(), "level=ERROR")
}

// TestPausedReminders: whose direct messages were closed to a reminder reads so at the next request, alone, and once.
func TestPausedReminders(t *testing.T) {
	t.Parallel()
	c := outfit(t)
	var closed atomic.Bool
	closed.Store(true)
	c.open(t, discord.Homes{
		Reach:   func(context.Context, string, string) (bool, error) { return closed.Load(), nil },
		Reached: func(context.Context, string, string) error { closed.Store(false); return nil },
	}, discord.Servers{})
	for _, notes := range []int{1, 0} {
		asked, err := c.member.Slash(c.channel, "/where", nil)
		require.NoError(t, err)
		_, err = asked.Wait()
		require.NoError(t, err)
		told, err := asked.FollowUps(1, 300*time.Millisecond)
		require.Equal(t, notes == 0, err != nil)
		require.Len(t, told, notes)
		if notes > 0 {
			require.True(t, told[0].Private)
			require.Contains(t, told[0].Text(), "reminders paused")
		}
	}
}

func TestDirectMessages(t *testing.T) {
	t.Parallel()
	c := open(t)
	alone, direct := c.member.User.In(), c.member.User.Direct()
	where := func() (discordtest.Message, error) {
		asked, err := alone.Slash(direct, "/where", nil)
		require.NoError(t, err)
		return asked.Wait()
	}
	c.coops = []bot.Party{{Key: c.guild.ID, Name: "Weir Lane"}}
	got, err := where()
	require.NoError(t, err)
	require.Equal(t, "Orla in Weir Lane", got.Text())
	choices, err := alone.Complete(direct, "/where", discordtest.Values{"name": "in"}, "name")
	require.NoError(t, err)
	require.Equal(t, "in Weir Lane", choices[0].Name)
	other := c.service.AddGuild("Tor Field Flowers")
	other.Join(c.member.User, 0)
	c.coops = append(c.coops, bot.Party{Key: other.ID, Name: "Tor Field Flowers"})
	asked, err := where()
	require.NoError(t, err)
	require.Contains(t, asked.Text(), "Which one")
	pressed, err := alone.Press(asked, "Which co-op?", "Tor Field Flowers")
	require.NoError(t, err)
	got, err = pressed.Wait()
	require.NoError(t, err)
	require.Equal(t, "Orla in Tor Field Flowers", got.Text())

	other.Remove() // the register may not know yet
	pressed, err = alone.Press(asked, "Which co-op?", "Tor Field Flowers")
	require.NoError(t, err)
	got, err = pressed.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "not known which co-op")
	c.guild.Remove()
	c.coops = c.coops[:1]
	got, err = where()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "not known which co-op")
	require.Empty(t, c.away(), "nobody left, we were removed")
}

// TestWhoLeft: in a direct message the co-op whose server they left is closed to a person.
func TestWhoLeft(t *testing.T) {
	t.Parallel()
	c := open(t)
	c.coops = []bot.Party{{Key: c.guild.ID, Name: "Weir Lane"}}
	c.member.Leave()
	asked, err := c.member.User.In().Slash(c.member.User.Direct(), "/where", nil)
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "no longer in the server of Weir Lane")
	require.Equal(t, []string{c.member.User.ID}, c.away())
}

// TestWhoLeftIsOfferedNothing: completion tells names too, so it is for those alone who are in the server.
func TestWhoLeftIsOfferedNothing(t *testing.T) {
	t.Parallel()
	c := open(t)
	c.coops = []bot.Party{{Key: c.guild.ID, Name: "Weir Lane"}}
	c.member.Leave()
	choices, err := c.member.User.In().Complete(c.member.User.Direct(), "/where", discordtest.Values{"name": "in"}, "name")
	require.NoError(t, err)
	require.Equal(t, "in", choices[0].Name, "no co-op is told")
}
