package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// came enters new stock of Nora's.
func (g *garden) came(count int, on string) register.Batch {
	g.t.Helper()
	out, err := g.Add(g.t.Context(), g.by(g.nora, on), register.Stock{Variety: g.late.ID, Stage: crop.Woken, Count: count, New: true})
	require.NoError(g.t, err)
	return out.Batches[0]
}

func (g *garden) held(b register.Batch, on string) register.Hold {
	g.t.Helper()
	h, err := g.HoldOf(g.t.Context(), b.ID, day(g.t, on))
	require.NoError(g.t, err)
	return h
}

func TestNewStockStandsApart(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.came(12, "2026-03-01")
	h := g.held(b, "2026-03-01")
	require.Equal(t, register.HeldApart, h.Why)
	require.Equal(t, "2026-04-26", h.Last.String(), "56 days")
	require.True(t, h.Stands(h.Last))
	require.Zero(t, g.held(b, "2026-04-27"))
	refused(t, fault.Later, "stands apart until Sun 26 Apr 2026", h.Refusal(b.Mark))

	require.Equal(t, h.Refusal(b.Mark), g.Passable(t.Context(), g.by(g.nora, "2026-04-26"), b))
	require.NoError(t, g.Passable(t.Context(), g.by(g.nora, "2026-04-27"), b))
	held, err := g.Held(t.Context(), g.nora.ID, day(t, "2026-04-26"))
	require.NoError(t, err)
	require.Equal(t, []register.Batch{b}, held)

	struck := g.done("2026-03-20", register.Step{Kind: crop.Strike, Batches: []int64{b.ID}, Count: 30}).Batches[0]
	require.Equal(t, h.Last, g.held(struck, "2026-03-20").Last, "what is raised from it stands apart as long")
	after := g.done("2026-04-27", register.Step{Kind: crop.Strike, Batches: []int64{b.ID}, Count: 10}).Batches[0]
	require.Zero(t, g.held(after, "2026-04-27"))

	_, err = g.Set(t.Context(), g.by(g.nora, "2026-05-01"), register.ApartSetting, 14)
	require.NoError(t, err)
	require.Equal(t, "2026-05-15", g.held(g.came(3, "2026-05-01"), "2026-05-01").Last.String(), "the co-op's own number")

	known := g.add(crop.Boxed, 5, "2026-05-01")
	require.Zero(t, g.held(known, "2026-05-01"), "stock that was there already")
}
