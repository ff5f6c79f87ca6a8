package register_test

import (
	"context"
	"database/sql"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/register"
)

func TestTidingsAreTakenOnce(t *testing.T) {
	t.Parallel()
	g := plant(t)
	by := g.by(g.nora, "2027-06-01")
	require.NoError(t, g.Tell(t.Context(), by, g.piet.ID, "test", 7, nil))
	require.NoError(t, g.Tell(t.Context(), by, 0, "test", 8, nil))
	failed := errors.New("the deed failed")
	require.ErrorIs(t, g.Tell(t.Context(), by, 0, "test", 9, failed), failed)

	waiting, err := g.Tidings(t.Context(), 10)
	require.NoError(t, err)
	require.Len(t, waiting, 2, "of a deed that failed nothing is told")
	first := waiting[0]
	require.Equal(t, register.Tiding{ID: first.ID, Coop: g.nora.Coop, Member: g.piet.ID, Kind: "test", Subject: 7, On: day(t, "2027-06-01"), At: first.At}, first)
	require.True(t, first.At.Equal(by.At))
	require.Zero(t, waiting[1].Member)

	took := 0
	take := func(then error) func(context.Context, *sql.Tx) error {
		return func(context.Context, *sql.Tx) error { took++; return then }
	}
	require.ErrorIs(t, g.TakeTiding(t.Context(), first.ID, by.At, take(failed)), failed)
	for range 2 {
		require.NoError(t, g.TakeTiding(t.Context(), first.ID, by.At, take(nil)))
	}
	require.Equal(t, 2, took, "once in vain and once for good")
	waiting, err = g.Tidings(t.Context(), 10)
	require.NoError(t, err)
	require.Len(t, waiting, 1)

	kept, err := g.Export(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.Equal(t, []register.Tiding{first}, kept.Tidings)
	require.NoError(t, g.Leave(t.Context(), g.by(g.piet, "2027-06-02")))
}
