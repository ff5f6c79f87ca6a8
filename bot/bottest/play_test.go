package bottest_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/bottest"
)

const script = `
at 2027-03-01 07:00
ask -as Ben -coop 'Otter Mill' /stock list
cmp stdout asked
conversation talk
cmp stdout talk
-- asked --
Heard.

Twice.
-- talk --
# Anna begins.
> Anna: /stock add variety:"Gilt: two"
    Heard.

    Twice.

restart
at 2027-03-02T07:00:00+13:00
> Ben in Otter Mill: 2
    Heard.

    Twice.

`

// echo answers always the same and keeps what it was told.
type echo struct {
	turns    []bottest.Turn
	restarts int
	closed   bool
}

func (e *echo) Say(_ context.Context, turn bottest.Turn) (string, error) {
	if _, err := os.Stat(filepath.Join(turn.Dir, "talk")); err != nil { // the script's own file
		return "", err
	}
	turn.Dir = ""
	e.turns = append(e.turns, turn)
	return "Heard.\n\nTwice.\n", nil
}

func (e *echo) Restart(context.Context) error { e.restarts++; return nil }
func (e *echo) Close() error                  { e.closed = true; return nil }

func TestPlay(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "a.txtar"), []byte(script), 0o600))
	adapter := &echo{}
	t.Run("scripts", func(t *testing.T) {
		bottest.Play(t, dir, false, func(context.Context, string) (bottest.Adapter, error) { return adapter, nil })
	})
	require.Equal(t, 1, adapter.restarts)
	require.True(t, adapter.closed)
	monday := time.Date(2027, time.March, 1, 7, 0, 0, 0, time.UTC)
	require.Len(t, adapter.turns, 3)
	require.Equal(t, bottest.Turn{Who: "Ben", Coop: "Otter Mill", At: monday, Clock: true, Request: "/stock list"}, adapter.turns[0])
	require.Equal(t, bottest.Turn{Who: "Anna", At: monday, Clock: true, Request: `/stock add variety:"Gilt: two"`, Want: "Heard.\n\nTwice."}, adapter.turns[1])
	last := adapter.turns[2]
	require.Equal(t, "Ben in Otter Mill: 2", last.Who+" in "+last.Coop+": "+last.Request)
	require.False(t, last.Clock)
	require.True(t, last.At.Equal(time.Date(2027, time.March, 1, 18, 0, 0, 0, time.UTC)))
}
