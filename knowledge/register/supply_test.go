package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/supply"
	"shortday/knowledge/variety"
)

func TestPromise(t *testing.T) {
	t.Parallel()
	g := plant(t)
	ctx, nora := t.Context(), g.by(g.nora, "2026-08-01")
	week := day(t, "2026-11-04") // a Wednesday
	made, err := g.Promise(ctx, nora, register.Promise{Week: week, Stems: 200, Variety: g.late.ID, Buyer: "The Corner Shop"})
	require.NoError(t, err)
	require.Equal(t, day(t, "2026-11-02"), made.Week)
	require.Equal(t, "Ember Late", made.Name)
	second, err := g.Promise(ctx, nora, register.Promise{Week: week, Stems: 50, Season: variety.Late, Colour: "white"})
	require.NoError(t, err)
	require.Equal(t, 2, second.Number)

	for _, c := range []struct {
		kind fault.Kind
		says string
		by   register.Actor
		p    register.Promise
	}{
		{fault.Barred, "steward", g.by(g.piet, "2026-08-01"), register.Promise{Week: week, Stems: 1}},
		{fault.Unclear, "How many stems", nora, register.Promise{Week: week}},
		{fault.Unclear, "which week", nora, register.Promise{Stems: 1}},
		{fault.Unclear, "is over", nora, register.Promise{Stems: 1, Week: day(t, "2026-07-26")}},
		{fault.Unclear, "leave the other out", nora, register.Promise{Stems: 1, Week: week, Variety: g.late.ID, Colour: "white"}},
		{fault.Missing, "not in the register", nora, register.Promise{Stems: 1, Week: week, Variety: 99}},
	} {
		_, err := g.Promise(ctx, c.by, c.p)
		refused(t, c.kind, c.says, err)
	}

	made.Stems = 150
	made, err = g.ChangePromise(ctx, nora, made)
	require.NoError(t, err)
	require.Equal(t, 150, made.Stems)
	_, err = g.DropPromise(ctx, g.by(g.piet, "2026-08-01"), made.ID)
	refused(t, fault.Barred, "steward", err)
	made, err = g.DropPromise(ctx, nora, made.ID)
	require.NoError(t, err)
	_, err = g.DropPromise(ctx, nora, made.ID)
	refused(t, fault.Taken, "dropped", err)
	stand, err := g.Promises(ctx, g.nora.Coop, week, week)
	require.NoError(t, err)
	require.Equal(t, []register.Promise{second}, stand)
	made, err = g.ChangePromise(ctx, nora, made) // taken up again
	require.NoError(t, err)
	require.Zero(t, made.Dropped)
	stand, err = g.Promises(ctx, g.nora.Coop, week, week)
	require.NoError(t, err)
	require.Len(t, stand, 2)
	_, err = g.PromiseNumbered(ctx, g.nora.Coop, 3)
	refused(t, fault.Missing, "no such promise", err)

	x, err := g.Export(ctx, g.nora.ID)
	require.NoError(t, err)
	require.Len(t, x.Promises, 2)
	other, err := g.AddVariety(ctx, nora, variety.Variety{Name: "Ember Later", Season: variety.Late})
	require.NoError(t, err)
	_, err = g.Join(ctx, nora, g.late.ID, other.ID)
	require.NoError(t, err)
	made, err = g.PromiseNumbered(ctx, g.nora.Coop, made.Number)
	require.NoError(t, err)
	require.Equal(t, "Ember Later", made.Name)
	require.NoError(t, g.Leave(ctx, nora))
	stand, err = g.Promises(ctx, g.nora.Coop, week, week)
	require.NoError(t, err)
	require.Len(t, stand, 2, "a promise is the co-op's and stays")
	require.Zero(t, stand[0].By)
}

func TestHarvest(t *testing.T) {
	t.Parallel()
	g := plant(t)
	ctx := t.Context()
	harvest := func(today string) register.Harvest {
		h, err := g.Harvest(ctx, g.nora.Coop, 0, day(t, "2026-09-01"), day(t, "2026-12-31"), day(t, today))
		require.NoError(t, err)
		return h
	}
	g.add(crop.Boxed, 12, "2026-01-05")
	p := g.target("2026-11-10")
	none, err := g.SetTarget(ctx, g.by(g.nora, "2026-01-10"), g.late.ID, crop.Target{From: day(t, "2026-11-14")}, 0)
	require.NoError(t, err)
	h := harvest("2026-02-01")
	require.Equal(t, []supply.Planting{{ID: p.ID, Variety: g.late.ID, Season: variety.Late, Stems: 40, Window: p.Bloom}}, h.Plantings)
	require.Equal(t, 1, h.Uncounted)
	_, err = g.DropTarget(ctx, g.by(g.nora, "2026-01-10"), none.Plan.ID, "")
	require.NoError(t, err)
	late := harvest("2026-08-01")
	require.Empty(t, late.Plantings, "neither struck nor stopped in time")
	require.Equal(t, 1, late.Refused)

	p = g.done("2026-09-01", register.Step{Plan: p.ID, Kind: crop.Stop, On: stopOf(t, g, p.ID)}).Plan
	over := harvest("2026-12-20")
	require.Equal(t, 1, over.Silent)
	require.Equal(t, calendar.On(p.Bloom.Likely), over.Plantings[0].Window)

	seen, err := g.SawBloom(ctx, g.by(g.nora, "2026-11-08"), register.Bloom{Variety: g.late.ID, Plan: p.ID, Full: day(t, "2026-11-08")})
	require.NoError(t, err)
	require.Equal(t, calendar.On(day(t, "2026-11-08")), harvest("2026-11-09").Plantings[0].Window)
	picked, err := g.SawBloom(ctx, g.by(g.nora, "2026-11-10"), register.Bloom{Variety: g.late.ID, Plan: p.ID, Picked: day(t, "2026-11-10"), Stems: 25})
	require.NoError(t, err)
	want := []supply.Planting{
		{ID: -picked.Event.ID, Variety: g.late.ID, Season: variety.Late, Stems: 25, Window: calendar.On(day(t, "2026-11-10"))},
		{ID: p.ID, Variety: g.late.ID, Season: variety.Late, Stems: 15, Window: calendar.On(day(t, "2026-11-18"))},
	}
	require.Equal(t, want, harvest("2026-11-18").Plantings)
	require.Equal(t, want[:1], harvest("2026-11-25").Plantings, "a fortnight after the last picking no more")

	_, err = g.Undo(ctx, g.by(g.nora, "2026-11-25"), picked.Event.ID, "")
	require.NoError(t, err)
	require.Len(t, harvest("2026-11-25").Plantings, 1)
	require.Equal(t, 40, harvest("2026-11-25").Plantings[0].Stems)
	_, err = g.Undo(ctx, g.by(g.nora, "2026-11-25"), seen.Event.ID, "")
	require.NoError(t, err)

	others, err := g.Harvest(ctx, g.nora.Coop, g.piet.ID, day(t, "2026-09-01"), day(t, "2026-12-31"), day(t, "2026-08-01"))
	require.NoError(t, err)
	require.Empty(t, others.Plantings)
}

func TestPastBlooms(t *testing.T) {
	t.Parallel()
	g := plant(t)
	for _, c := range []struct {
		who    register.Member
		bloom  string
		picked string
	}{{g.nora, "2026-11-08", ""}, {g.nora, "2028-01-03", ""}, {g.piet, "", "2027-10-30"}} {
		b := register.Bloom{Variety: g.late.ID}
		on := c.bloom + c.picked
		if c.bloom != "" {
			b.Full = day(t, c.bloom)
		} else {
			b.Picked = day(t, c.picked)
		}
		_, err := g.SawBloom(t.Context(), g.by(c.who, on), b)
		require.NoError(t, err)
	}
	got, err := g.PastBlooms(t.Context(), g.nora.Coop, day(t, "2028-03-01"))
	require.NoError(t, err)
	require.Equal(t, []supply.Bloom{
		{Variety: g.late.ID, Member: g.nora.ID, Year: 2026, Day: 311},
		{Variety: g.late.ID, Member: g.nora.ID, Year: 2027, Day: 367}, // early January belongs to the autumn before
		{Variety: g.late.ID, Member: g.piet.ID, Year: 2027, Day: 302},
	}, got)
	got, err = g.PastBlooms(t.Context(), g.nora.Coop, day(t, "2037-12-01"))
	require.NoError(t, err)
	require.Len(t, got, 1, "ten years back and no further")
}
