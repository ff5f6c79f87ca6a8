package register_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func (g *garden) rows(n int) []register.ListingRow {
	rows := make([]register.ListingRow, n)
	for i := range rows {
		rows[i] = register.ListingRow{Line: i + 2, Key: fmt.Sprint(i), Stock: register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: i + 1}}
	}
	return rows
}

func TestListingIsEnteredOnceAndByWhoBroughtIt(t *testing.T) {
	t.Parallel()
	g := plant(t)
	nora := g.by(g.nora, "2026-02-01")
	id, err := g.KeepListing(t.Context(), nora, "stock.csv", []byte("variety"))
	require.NoError(t, err)
	_, err = g.Listing(t.Context(), g.piet.ID, id)
	refused(t, fault.Missing, "somebody else brought it", err)
	_, _, err = g.EnterListing(t.Context(), g.by(g.piet, "2026-02-01"), id, g.rows(2), nil)
	refused(t, fault.Missing, "somebody else brought it", err)

	rows := g.rows(3)
	rows[2].After, rows[2].Stock.Stage = 1, crop.Struck
	entered, _, err := g.EnterListing(t.Context(), nora, id, rows, nil)
	require.NoError(t, err)
	require.Len(t, entered, 3)
	require.Equal(t, entered[0].Batch.ID, entered[2].Batch.Parent)
	_, _, err = g.EnterListing(t.Context(), nora, id, rows, nil)
	refused(t, fault.Taken, "entered on Sun 1 Feb 2026 already", err)
	l, err := g.Listing(t.Context(), g.nora.ID, id)
	require.NoError(t, err)
	require.Empty(t, l.Data)

	again, err := g.KeepListing(t.Context(), nora, "stock.csv", []byte("variety"))
	require.NoError(t, err)
	entered, _, err = g.EnterListing(t.Context(), nora, again, g.rows(4), nil)
	require.NoError(t, err)
	require.Zero(t, entered[0].Batch.ID, "it stands already")
	require.NotZero(t, entered[3].Batch.ID)
	own, err := g.Batches(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Len(t, own, 4)
}

func TestListingIsAllOrNothing(t *testing.T) {
	t.Parallel()
	g := plant(t)
	nora := g.by(g.nora, "2026-02-01")
	id, err := g.KeepListing(t.Context(), nora, "stock.csv", []byte("variety"))
	require.NoError(t, err)
	rows := g.rows(3)
	rows[2].Stock.Since = day(t, "2026-02-02")
	_, _, err = g.EnterListing(t.Context(), nora, id, rows, nil)
	refused(t, fault.Unclear, "Line 4: Mon 2 Feb 2026 is still to come. Enter plants once they are there. Nothing was entered.", err)
	own, err := g.Batches(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Empty(t, own)
}

func TestListingIsTakenBack(t *testing.T) {
	t.Parallel()
	g := plant(t)
	nora := g.by(g.nora, "2026-02-01")
	id, err := g.KeepListing(t.Context(), nora, "stock.csv", []byte("variety"))
	require.NoError(t, err)
	entered, _, err := g.EnterListing(t.Context(), nora, id, g.rows(3), nil)
	require.NoError(t, err)
	_, err = g.Count(t.Context(), nora, register.Tally{Batch: entered[1].Batch.ID, Number: 1})
	require.NoError(t, err)
	_, _, _, err = g.TakeBackListing(t.Context(), g.by(g.piet, "2026-02-01"), id)
	refused(t, fault.Missing, "somebody else brought it", err)
	taken, stay, _, err := g.TakeBackListing(t.Context(), nora, id)
	require.NoError(t, err)
	require.Equal(t, 2, taken)
	require.Len(t, stay, 1, "a count rests on it")
	standing, err := g.RowsStanding(t.Context(), g.nora.ID, []string{"0", "1", "9"})
	require.NoError(t, err)
	require.Equal(t, map[string]bool{"0": false, "1": true, "9": false}, standing)

	again, err := g.KeepListing(t.Context(), nora, "stock.csv", []byte("variety"))
	require.NoError(t, err)
	entered, _, err = g.EnterListing(t.Context(), nora, again, g.rows(3), nil)
	require.NoError(t, err)
	require.NotZero(t, entered[0].Batch.ID, "what was taken back can be entered again")
	require.Zero(t, entered[1].Batch.ID)
}

// A member has one list waiting, and none waits for ever.
func TestListingsAreForgotten(t *testing.T) {
	t.Parallel()
	g := plant(t)
	first, err := g.KeepListing(t.Context(), g.by(g.nora, "2026-02-01"), "a.csv", []byte("a"))
	require.NoError(t, err)
	second, err := g.KeepListing(t.Context(), g.by(g.nora, "2026-02-02"), "b.csv", []byte("b"))
	require.NoError(t, err)
	_, err = g.Listing(t.Context(), g.nora.ID, first)
	refused(t, fault.Missing, "waits no more", err)
	_, err = g.KeepListing(t.Context(), g.by(g.piet, "2026-04-01"), "c.csv", []byte("c"))
	require.NoError(t, err)
	_, err = g.Listing(t.Context(), g.nora.ID, second)
	refused(t, fault.Missing, "waits no more", err)
	x, err := g.Export(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.Len(t, x.Listings, 1)
}

func BenchmarkEnterListing(b *testing.B) {
	g := plant(b)
	nora := g.by(g.nora, "2026-02-01")
	rows := g.rows(10_000)
	for i := 0; b.Loop(); i++ {
		id, err := g.KeepListing(b.Context(), nora, "stock.csv", []byte("variety"))
		require.NoError(b, err)
		for k := range rows {
			rows[k].Key = fmt.Sprint(i, " ", k)
		}
		_, _, err = g.EnterListing(b.Context(), nora, id, rows, nil)
		require.NoError(b, err)
	}
}
