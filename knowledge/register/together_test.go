package register_test

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func TestTogetherStandsOrFalls(t *testing.T) {
	t.Parallel()
	g := plant(t)
	by := g.by(g.nora, "2026-11-20")
	stock := register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 4}
	stop := errors.New("the second deed went wrong")
	err := g.Together(t.Context(), func(ctx context.Context) error {
		out, err := g.Add(ctx, by, stock)
		require.NoError(t, err)
		seen, err := g.Batch(ctx, out.Batches[0].ID)
		require.NoError(t, err)
		require.Equal(t, 4, seen.Count, "what is read after a deed sees it")
		outside, err := g.Batches(t.Context(), g.nora.ID, 0)
		require.NoError(t, err)
		require.Empty(t, outside, "others see nothing yet")
		return stop
	})
	require.ErrorIs(t, err, stop)
	none, err := g.Batches(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Empty(t, none)
	require.NoError(t, g.Together(t.Context(), func(ctx context.Context) error {
		if _, err := g.Add(ctx, by, stock); err != nil {
			return err
		}
		return g.Together(ctx, func(ctx context.Context) error { _, err := g.Add(ctx, by, stock); return err })
	}))
	both, err := g.Batches(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Len(t, both, 2)
	g.sound()
}

func TestTogetherGoesOnWithoutAFailedDeed(t *testing.T) {
	t.Parallel()
	g := plant(t)
	by := g.by(g.nora, "2026-11-20")
	require.NoError(t, g.Together(t.Context(), func(ctx context.Context) error {
		out, err := g.Add(ctx, by, register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 4})
		require.NoError(t, err)
		_, err = g.Move(ctx, by, register.Shift{Batch: out.Batches[0].ID, Count: 9})
		require.Equal(t, fault.Unclear, fault.KindOf(err))
		_, err = g.Count(ctx, by, register.Tally{Batch: out.Batches[0].ID, Number: 5})
		return err
	}))
	kept, err := g.Batches(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Len(t, kept, 1)
	require.Equal(t, 5, kept[0].Count)
}

func TestTogetherOutlivesAPanic(t *testing.T) {
	t.Parallel()
	g := plant(t)
	by := g.by(g.nora, "2026-11-20")
	require.Panics(t, func() {
		_ = g.Together(t.Context(), func(ctx context.Context) error {
			_, err := g.Add(ctx, by, register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 4})
			require.NoError(t, err)
			panic("a handler went wrong")
		})
	})
	none, err := g.Batches(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Empty(t, none)
	g.add(crop.Boxed, 3, "2026-11-21")
}

// A statement that runs while it is being read from is prepared a second time, not run under the reader.
func TestStatementsMayNest(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Boxed, 3, "2026-11-20")
	g.add(crop.Boxed, 4, "2026-11-20")
	const query = `SELECT count FROM batch ORDER BY id`
	outer, err := g.DB().BeginTx(t.Context(), nil)
	require.NoError(t, err)
	defer func() { _ = outer.Rollback() }()
	for range 2 {
		rows, err := outer.QueryContext(t.Context(), query)
		require.NoError(t, err)
		var seen []int
		for rows.Next() {
			var n, first int
			require.NoError(t, rows.Scan(&n))
			require.NoError(t, outer.QueryRowContext(t.Context(), query).Scan(&first))
			require.Equal(t, 3, first)
			seen = append(seen, n)
		}
		require.NoError(t, rows.Err())
		require.NoError(t, rows.Close())
		require.Equal(t, []int{3, 4}, seen)
	}
}
