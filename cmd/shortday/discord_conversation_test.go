package main

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot/bottest"
	"shortday/bot/discord/discordtest"
)

// TestConversationsInDiscord plays the conversations in a stand-in Discord and in the terminal side by side. What the
// terminal's reply says has to stand in Discord's, wherever Discord's own client would have let the question through.
func TestConversationsInDiscord(t *testing.T) {
	t.Parallel()
	inRealSeconds(t)
	var schema *discordtest.Schema
	if path := os.Getenv("SHORTDAY_OPENAPI"); path != "" {
		var err error
		schema, err = discordtest.LoadSchema(path)
		require.NoError(t, err)
	}
	var count tally
	t.Run("scripts", func(t *testing.T) {
		bottest.Play(t, filepath.Join("..", "..", "testdata", "conversations"), false, func(ctx context.Context, dir string) (bottest.Adapter, error) {
			return openDuet(ctx, dir, schema, &count)
		})
	})
	t.Logf("%d turns compared, %d held back by the client", count.same, count.held)
	require.Greater(t, count.same, 9*(count.same+count.held)/10, "%d compared, %d held back", count.same, count.held)
}

// tally counts the turns that were compared, and those that Discord's client holds back.
type tally struct {
	mu         sync.Mutex
	same, held int
}

func (t *tally) add(held bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if held {
		t.held++
	} else {
		t.same++
	}
}

// stamp is what Discord alone shows beside an instant.
var stamp = regexp.MustCompile(` \(by your clock <t:\d+:F>\)`)
