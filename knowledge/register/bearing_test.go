package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// stopOf gives the likely day on which a plan stops.
func stopOf(t *testing.T, g *garden, plan int64) calendar.Day {
	t.Helper()
	j, err := g.Job(t.Context(), plan, crop.Stop)
	require.NoError(t, err)
	return j.Window.Likely
}

// A plant of Ember Late, of which the form is not known, bears four stems.
func TestBearings(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		grow func(*garden, register.Plan)
		on   string
		want register.Bearing
	}{
		"stools at rest":       {func(g *garden, _ register.Plan) { g.add(crop.Boxed, 2, "2026-01-05") }, "2026-02-01", register.Bearing{}},
		"never any plants":     {func(*garden, register.Plan) {}, "2026-02-01", register.Bearing{}},
		"stools that are gone": {func(g *garden, _ register.Plan) { g.gone(g.add(crop.Boxed, 6, "2026-01-05"), "2026-02-01") }, "2026-02-01", register.Bearing{Known: true, Gone: true}},
		"of two boxes one is gone": {func(g *garden, _ register.Plan) {
			g.gone(g.add(crop.Boxed, 6, "2026-01-05"), "2026-02-01")
			g.add(crop.Boxed, 1, "2026-01-05")
		}, "2026-02-01", register.Bearing{}},
		"cuttings that root": {func(g *garden, _ register.Plan) { g.add(crop.Struck, 3, "2026-03-05") }, "2026-03-06", register.Bearing{}},
		"few plants":         {func(g *garden, _ register.Plan) { g.add(crop.Potted, 3, "2026-04-05") }, "2026-04-06", register.Bearing{Known: true, Stems: 12}},
		"plants and cuttings": {func(g *garden, _ register.Plan) {
			g.add(crop.Potted, 3, "2026-04-05")
			g.add(crop.Struck, 2, "2026-04-05")
		}, "2026-04-06", register.Bearing{Known: true, Stems: 20}},
		"more plants than needed":    {func(g *garden, _ register.Plan) { g.add(crop.Planted, 30, "2026-05-25") }, "2026-05-26", register.Bearing{Known: true, Stems: 40}},
		"plants that are gone":       {func(g *garden, _ register.Plan) { g.gone(g.add(crop.Potted, 30, "2026-04-05"), "2026-04-06") }, "2026-04-06", register.Bearing{Known: true, Gone: true}},
		"too late, nothing recorded": {func(g *garden, _ register.Plan) { g.add(crop.Boxed, 12, "2026-01-05") }, "2026-08-01", register.Bearing{Lost: true}},
		"cuttings that nobody counted": {func(g *garden, p register.Plan) {
			stools := g.add(crop.Boxed, 2, "2026-01-05")
			for _, k := range []crop.Kind{crop.Wake, crop.Cut, crop.Strike, crop.Pot} {
				g.done("2026-04-05", register.Step{Plan: p.ID, Kind: k})
			}
			g.gone(stools, "2026-04-06")
		}, "2026-04-06", register.Bearing{}},
		"stopped a month late": {func(g *garden, p register.Plan) {
			g.add(crop.Planted, 30, "2026-05-25")
			g.done("2026-09-20", register.Step{Plan: p.ID, Kind: crop.Stop})
		}, "2026-09-21", register.Bearing{Known: true, Stems: 40}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			g := plant(t)
			p := g.target("2026-11-10")
			c.grow(g, p)
			got, err := g.Bearings(t.Context(), g.nora.Coop, g.nora.ID, day(t, c.on))
			require.NoError(t, err)
			require.Equal(t, map[int64]register.Bearing{p.ID: c.want}, got)
			all, err := g.Bearings(t.Context(), g.nora.Coop, 0, day(t, c.on))
			require.NoError(t, err)
			require.Equal(t, got, all)
		})
	}
}

// Plants that two targets share count once, for the earlier bloom first; what is meant for one serves it before others.
func TestBearingsShared(t *testing.T) {
	t.Parallel()
	g := plant(t)
	early, late := g.target("2026-11-04"), g.target("2026-11-14")
	bearings := func() map[int64]register.Bearing {
		got, err := g.Bearings(t.Context(), g.nora.Coop, g.nora.ID, day(t, "2026-05-27"))
		require.NoError(t, err)
		return got
	}
	plants := g.add(crop.Planted, 12, "2026-05-25")
	require.Equal(t, map[int64]register.Bearing{early.ID: {Known: true, Stems: 40}, late.ID: {Known: true, Stems: 8}}, bearings())

	g.done("2026-05-26", register.Step{Plan: late.ID, Kind: crop.House, Batches: []int64{plants.ID}, Count: 11})
	require.Equal(t, map[int64]register.Bearing{early.ID: {Known: true, Stems: 8}, late.ID: {Known: true, Stems: 40}}, bearings())
	h, err := g.Harvest(t.Context(), g.nora.Coop, 0, day(t, "2026-10-01"), day(t, "2026-12-31"), day(t, "2026-05-27"))
	require.NoError(t, err)
	require.Equal(t, 32, h.Short)
	require.Equal(t, map[register.Grown]bool{{Member: g.nora.ID, Variety: g.late.ID}: true}, h.Taken)

	g.add(crop.Boxed, 1, "2026-05-26")
	h, err = g.Harvest(t.Context(), g.nora.Coop, 0, day(t, "2026-10-01"), day(t, "2026-12-31"), day(t, "2026-05-27"))
	require.NoError(t, err)
	require.False(t, h.Taken[register.Grown{Member: g.nora.ID, Variety: g.late.ID}], "a stool gives more")
}

// gone counts a batch to none.
func (g *garden) gone(b register.Batch, on string) {
	g.t.Helper()
	_, err := g.Count(g.t.Context(), g.by(g.nora, on), register.Tally{Batch: b.ID, Died: true})
	require.NoError(g.t, err)
}
