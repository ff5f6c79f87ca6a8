package discord_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot/discord"
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
