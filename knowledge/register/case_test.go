package register_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// Each of many targets rests on what it rests on by itself: plants, steps, blooms, keys and responses of one's own.
func TestTargetsTogetherAreEachAsByItself(t *testing.T) {
	t.Parallel()
	g := plant(t)
	ctx, nora := t.Context(), g.by(g.nora, "2026-03-01")
	var kinds []register.Variety
	for i := range 6 {
		v, err := g.AddVariety(ctx, nora, variety.Variety{Name: fmt.Sprint("Trial ", i), Season: variety.Late, Response: 9})
		require.NoError(t, err)
		kinds = append(kinds, v)
	}
	key := variety.Stop{On: calendar.Annual{Month: 6, Day: 7}, Bloom: calendar.Annual{Month: 11, Day: 5}, Lat: 53}
	_, err := g.SetOwn(ctx, nora, kinds[0].ID, []variety.Stop{key}, 0)
	require.NoError(t, err)
	_, err = g.SetOwn(ctx, g.by(g.piet, "2026-03-01"), kinds[1].ID, []variety.Stop{key}, 8)
	require.NoError(t, err)
	_, err = g.SetOwn(ctx, nora, kinds[2].ID, nil, 10.5)
	require.NoError(t, err)
	for i, v := range kinds[:4] {
		_, err = g.Add(ctx, nora, register.Stock{Variety: v.ID, Stage: []crop.Stage{crop.Boxed, crop.Woken, crop.Struck, crop.Potted}[i], Since: day(t, "2026-02-01"), Count: 9})
		require.NoError(t, err)
	}
	for i, bloom := range []string{"2025-10-30", "2025-11-09"} {
		who := []register.Member{g.nora, g.piet}[i]
		_, err = g.SawBloom(ctx, g.by(who, "2026-03-01"), register.Bloom{Variety: kinds[3].ID, Full: day(t, bloom)})
		require.NoError(t, err)
	}
	for i, v := range kinds {
		_, err = g.SetTarget(ctx, nora, v.ID, crop.Target{From: day(t, "2026-11-01").Add(i)}, 40)
		require.NoError(t, err)
	}
	_, err = g.SetTarget(ctx, nora, kinds[0].ID, crop.Target{From: day(t, "2026-11-20")}, 40)
	require.NoError(t, err)
	_, err = g.SetTarget(ctx, g.by(g.piet, "2026-03-01"), kinds[0].ID, crop.Target{From: day(t, "2026-11-02")}, 40)
	require.NoError(t, err)
	live, err := g.Batches(ctx, g.nora.ID, kinds[3].ID)
	require.NoError(t, err)
	_, err = g.Done(ctx, g.by(g.nora, "2026-06-14"), register.Step{Kind: crop.Stop, Batches: []int64{live[0].ID}})
	require.NoError(t, err)

	today := day(t, "2026-06-20")
	before := g.Statements()
	all, err := g.Reckonings(ctx, g.nora.ID, 0, today)
	require.NoError(t, err)
	cost := g.Statements() - before
	require.Len(t, all, 7)
	stopped, boxed, learnt := 0, 0, 0
	for _, r := range all {
		alone, err := g.Reckon(ctx, r.Plan.ID, today)
		require.NoError(t, err)
		require.Equal(t, alone, r)
		stopped += len(r.Case.Done)
		boxed += len(r.Case.Variety.Stops)
		learnt += len(r.Case.Records)
	}
	var grown []register.Grown
	for _, v := range append(kinds, kinds[3]) {
		grown = append(grown, register.Grown{Member: g.piet.ID, Variety: v.ID}, register.Grown{Member: g.nora.ID, Variety: v.ID})
	}
	wanted := crop.Target{From: day(t, "2026-11-10"), To: day(t, "2026-11-16")}
	cases, err := g.Cases(ctx, grown, wanted, today)
	require.NoError(t, err)
	for i, c := range cases {
		alone, err := g.Case(ctx, grown[i].Member, grown[i].Variety, wanted, today)
		require.NoError(t, err)
		require.Equal(t, alone, c)
	}
	require.Positive(t, stopped)
	require.Equal(t, 2, boxed, "her own key of one variety, for each of its two targets")
	require.Equal(t, 2, learnt, "a season of hers and one of his")
	before = g.Statements()
	_, err = g.Reckonings(ctx, g.piet.ID, 0, today)
	require.NoError(t, err)
	require.Equal(t, cost, g.Statements()-before, "as many for one as for seven")
}
