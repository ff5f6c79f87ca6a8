package discord_test

import (
	"context"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
)

// works answers after some time in which it tells its progress more often than is shown.
func works(t *testing.T, steps int, fault *discordtest.RESTFault) (*bench, *discordtest.Interaction) {
	t.Helper()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	_, err := b.conn.Register(t.Context(), ping)
	require.NoError(t, err)
	b.run(t, discord.Events{Asked: func(ctx context.Context, turn *discord.Turn) {
		for i := range steps {
			turn.Progress(i+1, steps)
			time.Sleep(200 * time.Millisecond)
		}
		_ = turn.Say(ctx, "all done", true)
		turn.Progress(steps, steps)
	}})
	require.NoError(t, b.service.AwaitReady(1, recovery))
	if fault != nil {
		b.service.FailREST(*fault)
	}
	asked, err := b.member.Slash(b.channel, "/ping", nil)
	require.NoError(t, err)
	return b, asked
}

// patches gives how often the promised place was edited.
func (b *bench) patches() int { return len(b.service.Requests(http.MethodPatch, "/webhooks/")) }

// TestProgressIsShownAtAModestPace: the promised place tells how much is done, and ends as the answer.
func TestProgressIsShownAtAModestPace(t *testing.T) {
	t.Parallel()
	b, asked := works(t, 26, nil) // 5.2 s: edits at 1.6 s and at 4.8 s, then the answer
	require.Eventually(t, func() bool { return b.patches() == 1 }, recovery, 10*time.Millisecond)
	shown, err := asked.Wait()
	require.NoError(t, err)
	require.Regexp(t, `^Working on it: \d+ of 26 done\.$`, shown.Content)
	require.True(t, shown.Private)
	require.Eventually(t, func() bool { return b.last() == "all done" }, recovery, 20*time.Millisecond)
	require.LessOrEqual(t, b.patches(), 3)
	time.Sleep(500 * time.Millisecond)
	require.Equal(t, "all done", b.last(), "nothing is told after the answer")
	require.Len(t, b.channel.Messages(), 1)
}

// TestRequestsTellTheirProgress: what a handler tells of is shown, and gone with the answer.
func TestRequestsTellTheirProgress(t *testing.T) {
	t.Parallel()
	c := open(t)
	asked, err := c.member.Slash(c.channel, "/shed sweep", nil)
	require.NoError(t, err)
	shown, err := asked.Wait()
	require.NoError(t, err)
	require.Regexp(t, `of 24 done`, shown.Content)
	require.Eventually(t, func() bool {
		all := c.channel.Messages()
		last := all[len(all)-1]
		return last.Content == "" && len(last.Embeds) == 1 && last.Embeds[0].Title == "Swept"
	}, recovery, 20*time.Millisecond)
}

// TestQuickAnswersTellNoProgress: what was not promised has no place for it.
func TestQuickAnswersTellNoProgress(t *testing.T) {
	t.Parallel()
	b, asked := works(t, 3, nil)
	got, err := asked.Wait()
	require.NoError(t, err)
	require.Equal(t, "all done", got.Content)
	require.Zero(t, b.patches())
}

// TestProgressNeverOverwritesTheAnswer: one that is slow to arrive is waited for; after one of which nothing is known the
// answer has a place of its own.
func TestProgressNeverOverwritesTheAnswer(t *testing.T) {
	t.Parallel()
	for name, fault := range map[string]discordtest.RESTFault{
		"slow": {Method: http.MethodPatch, Path: "/webhooks/", Delay: 1500 * time.Millisecond},
		"lost": {Method: http.MethodPatch, Path: "/webhooks/", Delay: 30 * time.Second},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b, _ := works(t, 10, &fault)
			require.Eventually(t, func() bool { return b.last() == "all done" }, 2*recovery, 20*time.Millisecond)
			time.Sleep(time.Second)
			require.Equal(t, "all done", b.last())
		})
	}
}

// last gives what the newest message of the channel says.
func (b *bench) last() string {
	all := b.channel.Messages()
	if len(all) == 0 {
		return ""
	}
	return all[len(all)-1].Content
}
