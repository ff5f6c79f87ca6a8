package requests_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A setup of several kinds of field is one deed: where one of them is refused, none is kept.
func TestSetupIsOneDeed(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	l.season()
	before := l.says("2026-11-21", "/coop setup").Rows
	reply := l.AnswerLine(t.Context(), l.ask("2026-11-21"), "/coop setup stop-shift:0.7 word:pinch stand-down:Oona")
	require.NotNil(t, reply.Refusal)
	require.Contains(t, reply.Refusal.Text, "only steward")
	require.Equal(t, before, l.says("2026-11-21", "/coop setup").Rows)
	l.says("2026-11-21", "/coop setup stop-shift:0.7 word:pinch")
	require.NotEqual(t, before, l.says("2026-11-21", "/coop setup").Rows)
}

// What is refused leaves nothing: who was refused is no member yet.
func TestRefusedRequestLeavesNothing(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	reply := l.AnswerLine(t.Context(), l.ask("2026-11-21"), "/stock move batch:26-1 spot:bench")
	require.NotNil(t, reply.Refusal)
	reply = l.AnswerLine(t.Context(), l.ask("2026-11-21"), "/coop show")
	require.NotNil(t, reply.Refusal, "the co-op has not begun")
}
