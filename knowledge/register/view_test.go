package register_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

func TestLookSeesOneState(t *testing.T) {
	t.Parallel()
	g := plant(t)
	by := g.by(g.nora, "2026-11-20")
	stock := register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 4}
	live := func(ctx context.Context) int {
		all, err := g.Batches(ctx, g.nora.ID, 0)
		require.NoError(t, err)
		return len(all)
	}
	require.NoError(t, g.Look(t.Context(), func(ctx context.Context) error {
		require.Zero(t, live(ctx))
		_, err := g.Add(t.Context(), by, stock) // another's
		require.NoError(t, err)
		require.Zero(t, live(ctx), "what others record meanwhile is not seen")
		require.Equal(t, 1, live(t.Context()))
		g.Rest(ctx)
		require.Equal(t, 1, live(ctx), "after a rest it is")
		_, err = g.Add(ctx, by, stock)
		require.NoError(t, err)
		require.Equal(t, 2, live(ctx), "what is recorded within it is, and all before it")
		return g.Together(ctx, func(ctx context.Context) error {
			require.Equal(t, 2, live(ctx))
			_, err := g.Add(ctx, by, stock)
			require.NoError(t, err)
			require.Equal(t, 3, live(ctx))
			return g.Look(ctx, func(ctx context.Context) error { require.Equal(t, 3, live(ctx)); return nil })
		})
	}))
	require.Equal(t, 3, live(t.Context()))
}

func TestLookFindsASeatOnce(t *testing.T) {
	t.Parallel()
	g := plant(t)
	find := func(ctx context.Context) register.Seat {
		seat, err := g.Find(ctx, "hill", g.nora.Key)
		require.NoError(t, err)
		return seat
	}
	require.NoError(t, g.Look(t.Context(), func(ctx context.Context) error {
		seat := find(ctx)
		ran := g.Statements()
		require.Equal(t, seat, find(ctx))
		require.Equal(t, ran, g.Statements())
		require.NoError(t, g.SetCountry(ctx, g.by(g.nora, "2026-11-20"), "IE"))
		require.Equal(t, "IE", find(ctx).Member.Country, "what is recorded since is seen")
		return nil
	}))
}

func TestLookOutlivesAPanic(t *testing.T) {
	t.Parallel()
	g := plant(t)
	for range 20 { // more often than there are connections
		require.Panics(t, func() {
			_ = g.Look(t.Context(), func(ctx context.Context) error {
				_, err := g.Batches(ctx, g.nora.ID, 0)
				require.NoError(t, err)
				panic("a handler went wrong")
			})
		})
	}
	_, err := g.Batches(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
}
