package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

func TestVarietyIsTheCoops(t *testing.T) {
	t.Parallel()
	g := plant(t)
	full := variety.Variety{Name: "Glass Ember", Season: variety.Mid, Form: variety.Spray, Section: variety.Section{Number: 19, Letter: "b"}, USClass: 4,
		Colour: "light bronze", Response: 9.5, Critical: variety.Critical{Bud: 14, Flower: 13}, Natural: variety.Natural{On: calendar.Annual{Month: 10, Day: 12}, Lat: 52},
		Stops: []variety.Stop{{On: calendar.Annual{Month: 6, Day: 7}, Bloom: calendar.Annual{Month: 10, Day: 14}, Lat: 52, Source: "an invented key"}},
		Kept:  4, StopsWanted: 1, Shoots: 8, Protection: variety.Protected, Until: day(t, "2040-01-01"), Licence: "L-1"}
	added, err := g.AddVariety(t.Context(), g.by(g.piet, "2026-02-01"), full)
	require.NoError(t, err)
	require.Equal(t, full, added.Variety)
	require.Equal(t, g.piet.ID, added.AddedBy)
	found, err := g.VarietyNamed(t.Context(), g.nora.Coop, "glass émber")
	require.NoError(t, err)
	require.Equal(t, added, found)

	_, err = g.AddVariety(t.Context(), g.by(g.nora, "2026-02-01"), variety.Variety{Name: "GLASS EMBER"})
	refused(t, fault.Taken, "already", err)
	_, err = g.VarietyNamed(t.Context(), g.nora.Coop, "Glass Embre")
	refused(t, fault.Missing, "Did you mean Glass Ember?", err)
	_, err = g.VarietyNamed(t.Context(), g.nora.Coop, "Zzz")
	refused(t, fault.Missing, "/variety add", err)
	near, err := g.NearVarieties(t.Context(), g.nora.Coop, "ember", 5)
	require.NoError(t, err)
	require.Equal(t, []string{"Ember Late", "Glass Ember"}, near)
	all, err := g.Varieties(t.Context(), g.nora.Coop)
	require.NoError(t, err)
	require.Len(t, all, 2)

	v := g.late.Variety
	v.Response = 11
	_, err = g.ChangeVariety(t.Context(), g.by(g.piet, "2026-02-01"), g.late.ID, v)
	refused(t, fault.Barred, "who added it or a steward", err)
	v.Name = "Glass Ember"
	_, err = g.ChangeVariety(t.Context(), g.by(g.nora, "2026-02-01"), g.late.ID, v)
	refused(t, fault.Taken, "join", err)
	full.Name = "Glass Ember II"
	_, err = g.ChangeVariety(t.Context(), g.by(g.nora, "2026-02-01"), added.ID, full)
	require.NoError(t, err, "a steward changes any")
	again, err := g.Variety(t.Context(), added.ID)
	require.NoError(t, err)
	require.Equal(t, full, again.Variety)
}

func TestOwnStops(t *testing.T) {
	t.Parallel()
	g := plant(t)
	own := []variety.Stop{{On: calendar.Annual{Month: 6, Day: 1}, Lat: 52}, {On: calendar.Annual{Month: 6, Day: 20}, Lat: 52}}
	_, err := g.SetOwn(t.Context(), g.by(g.piet, "2026-02-01"), g.late.ID, own, 9)
	require.NoError(t, err)
	mine, err := g.VarietyFor(t.Context(), g.piet.ID, g.late.ID)
	require.NoError(t, err)
	require.Equal(t, own, mine.Stops)
	require.InDelta(t, 9, mine.Response, 0)
	theirs, err := g.VarietyFor(t.Context(), g.nora.ID, g.late.ID)
	require.NoError(t, err)
	require.Equal(t, g.late, theirs)
	_, err = g.SetOwn(t.Context(), g.by(g.piet, "2026-02-01"), g.late.ID, nil, 0)
	require.NoError(t, err)
	mine, err = g.VarietyFor(t.Context(), g.piet.ID, g.late.ID)
	require.NoError(t, err)
	require.Equal(t, g.late, mine)
}

func TestJoin(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Boxed, 12, "2026-01-05")
	twin, err := g.AddVariety(t.Context(), g.by(g.piet, "2026-01-05"), variety.Variety{Name: "Embers Late", Season: variety.Late})
	require.NoError(t, err)
	stock := register.Stock{Variety: twin.ID, Stage: crop.Boxed, Count: 3}
	theirs, err := g.Add(t.Context(), g.by(g.piet, "2026-01-06"), stock)
	require.NoError(t, err)
	both, err := g.Add(t.Context(), g.by(g.nora, "2026-01-06"), stock)
	require.NoError(t, err)
	aim, err := g.SetTarget(t.Context(), g.by(g.piet, "2026-01-07"), twin.ID, crop.Target{From: day(t, "2026-11-05")}, 20)
	require.NoError(t, err)
	_, err = g.SetOwn(t.Context(), g.by(g.piet, "2026-01-07"), twin.ID, nil, 9)
	require.NoError(t, err)

	_, err = g.Join(t.Context(), g.by(g.piet, "2026-02-01"), twin.ID, g.late.ID)
	refused(t, fault.Barred, "Only a steward", err)
	_, err = g.Join(t.Context(), g.by(g.nora, "2026-02-01"), twin.ID, twin.ID)
	refused(t, fault.Unclear, "one variety twice", err)
	joined, err := g.Join(t.Context(), g.by(g.nora, "2026-02-01"), twin.ID, g.late.ID)
	require.NoError(t, err)
	require.Equal(t, g.late, joined)
	_, err = g.Variety(t.Context(), twin.ID)
	refused(t, fault.Missing, "", err)
	all, err := g.BatchesOf(t.Context(), g.late.ID)
	require.NoError(t, err)
	require.Len(t, all, 3)
	require.Equal(t, []int64{b.ID, both.Batches[0].ID, theirs.Batches[0].ID}, []int64{all[0].ID, all[1].ID, all[2].ID})
	p, err := g.Plan(t.Context(), aim.Plan.ID)
	require.NoError(t, err)
	require.Equal(t, g.late.ID, p.Variety)
	own, err := g.VarietyFor(t.Context(), g.piet.ID, g.late.ID)
	require.NoError(t, err)
	require.InDelta(t, 9, own.Response, 0)
	keeps, err := g.Plans(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Len(t, keeps, 1, "one keep-plan of what is one variety")
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-02-02"), both.Event.ID, "")
	require.NoError(t, err)
}
