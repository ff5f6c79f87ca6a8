package register_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

func TestEnter(t *testing.T) {
	t.Parallel()
	g := plant(t)
	require.True(t, g.nora.Steward, "the first is steward")
	require.False(t, g.piet.Steward)
	require.Equal(t, 3, g.nora.KeepStools)

	seat, err := g.Find(t.Context(), "hill", "stranger")
	require.NoError(t, err)
	require.True(t, seat.Zero())
	require.Equal(t, "Hill Growers", seat.Coop.Name)
	seat, err = g.Find(t.Context(), "valley", "nora")
	require.NoError(t, err)
	require.True(t, seat.Zero() && seat.Coop.ID == 0)

	e := register.Entry{CoopKey: "hill", CoopName: "Renamed", Key: "piet", Name: "  Piet  de Boer ", At: noon(t, "2026-02-01")}
	seat, err = g.Enter(t.Context(), e)
	require.NoError(t, err)
	require.Equal(t, g.piet.ID, seat.Member.ID)
	require.Equal(t, "Piet de Boer", seat.Member.Name)
	require.Equal(t, "Hill Growers", seat.Coop.Name, "a platform's name is only the first")
	e.Steward = true
	seat, err = g.Enter(t.Context(), e)
	require.NoError(t, err)
	require.True(t, seat.Member.Steward, "who runs the server is steward")

	e.Name = "\u202e"
	_, err = g.Enter(t.Context(), e)
	refused(t, fault.Unclear, "name", err)
}

func TestMemberNamed(t *testing.T) {
	t.Parallel()
	g := plant(t)
	m, err := g.MemberNamed(t.Context(), g.nora.Coop, "PIÉT")
	require.NoError(t, err)
	require.Equal(t, g.piet.ID, m.ID)
	_, err = g.MemberNamed(t.Context(), g.nora.Coop, "Pite")
	refused(t, fault.Missing, "Did you mean Piet?", err)
	g.enter("piet2", "Piet")
	_, err = g.MemberNamed(t.Context(), g.nora.Coop, "piet")
	refused(t, fault.Unclear, "2 members", err)
}

func TestStewards(t *testing.T) {
	t.Parallel()
	g := plant(t)
	nora, piet := g.by(g.nora, "2026-02-01"), g.by(g.piet, "2026-02-01")
	refused(t, fault.Barred, "Only a steward", g.NameSteward(t.Context(), piet, g.piet.ID, true))
	refused(t, fault.Taken, "only steward", g.NameSteward(t.Context(), nora, g.nora.ID, false))
	require.NoError(t, g.NameSteward(t.Context(), nora, g.piet.ID, true))
	require.NoError(t, g.NameSteward(t.Context(), nora, g.nora.ID, false))
	_, err := g.Setup(t.Context(), nora, register.Coop{ID: g.nora.Coop, Name: "X"})
	refused(t, fault.Barred, "Only a steward", err)
}

func TestSetup(t *testing.T) {
	t.Parallel()
	g := plant(t)
	want := register.Coop{ID: g.nora.Coop, Key: "hill", Name: "Hill & Dale", Units: register.US, MonthFirst: true, StopWord: register.SayPinch,
		Country: "NL", Place: place.Place{Point: place.Point{Lat: -43.5, Lon: 172.6}, Zone: "Pacific/Auckland", LastFrost: calendar.Annual{Month: 10, Day: 5}, Lights: true}}
	_, err := g.Setup(t.Context(), g.by(g.nora, "2026-02-01"), want)
	require.NoError(t, err)
	got, err := g.Coop(t.Context(), g.nora.Coop)
	require.NoError(t, err)
	require.Equal(t, want, got)
	all, err := g.Coops(t.Context())
	require.NoError(t, err)
	require.Equal(t, []register.Coop{want}, all)

	_, err = g.SetMember(t.Context(), g.by(g.piet, "2026-02-01"), register.CoopUnits, 5, place.Place{})
	require.NoError(t, err)
	seat, err := g.Seat(t.Context(), g.piet.ID)
	require.NoError(t, err)
	there := want.Place
	there.Lights = false // what a member grows with is the member's own
	require.Equal(t, there, seat.Place())
	require.Equal(t, register.US, seat.Units())
	require.Equal(t, 5, seat.Member.KeepStools)
	_, err = g.SetMember(t.Context(), g.by(g.piet, "2026-02-01"), register.CoopUnits, -1, place.Place{})
	refused(t, fault.Unclear, "stools", err)
}

func TestPlaceOfSeat(t *testing.T) {
	t.Parallel()
	co := place.Place{Point: place.Point{Lat: 53, Lon: -6}, Zone: "Europe/Dublin", Exact: true, LastFrost: calendar.Annual{Month: 5, Day: 10}, FirstFrost: calendar.Annual{Month: 10, Day: 12}}
	for name, c := range map[string]struct{ own, want place.Place }{
		"nothing told":      {place.Place{}, co},
		"what is there":     {place.Place{Cover: true}, place.Place{Point: co.Point, Zone: co.Zone, Exact: true, LastFrost: co.LastFrost, FirstFrost: co.FirstFrost, Cover: true}},
		"a frost day":       {place.Place{LastFrost: calendar.Annual{Month: 5, Day: 1}}, place.Place{Point: co.Point, Zone: co.Zone, Exact: true, LastFrost: calendar.Annual{Month: 5, Day: 1}, FirstFrost: co.FirstFrost}},
		"a position":        {place.Place{Point: place.Point{Lat: 57}, Exact: true}, place.Place{Point: place.Point{Lat: 57}, Exact: true, Zone: co.Zone}},
		"a place elsewhere": {place.Place{Point: place.Point{Lat: -43}, Zone: "Pacific/Auckland"}, place.Place{Point: place.Point{Lat: -43}, Zone: "Pacific/Auckland"}},
	} {
		seat := register.Seat{Coop: register.Coop{Place: co}, Member: register.Member{Place: c.own}}
		require.Equal(t, c.want, seat.Place(), name)
	}
}

func TestSettings(t *testing.T) {
	t.Parallel()
	g := plant(t)
	_, err := g.Set(t.Context(), g.by(g.piet, "2026-02-01"), register.StopShift, 0.5)
	refused(t, fault.Barred, "steward", err)
	for _, v := range []float64{0.5, 0.3} {
		_, err = g.Set(t.Context(), g.by(g.nora, "2026-02-01"), register.StopShift, v)
		require.NoError(t, err)
	}
	all, err := g.Settings(t.Context(), g.nora.Coop)
	require.NoError(t, err)
	require.Equal(t, map[string]float64{register.StopShift: 0.3}, all)
	c, err := g.Case(t.Context(), g.nora.ID, g.late.ID, crop.Target{}, day(t, "2026-02-01"))
	require.NoError(t, err)
	require.InDelta(t, 0.3, c.Setting.StopShift, 0)
}

func TestForAnother(t *testing.T) {
	t.Parallel()
	g := plant(t)
	stock := register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 4}
	out, err := g.Add(t.Context(), register.Actor{Member: g.nora.ID, For: g.piet.ID, At: noon(t, "2026-02-01")}, stock)
	require.NoError(t, err)
	require.Equal(t, g.piet.ID, out.Batches[0].Member)
	require.Equal(t, "Nora", out.Event.ByName)
	require.Equal(t, "Piet", out.Event.Owner)
	_, err = g.Add(t.Context(), register.Actor{Member: g.piet.ID, For: g.nora.ID, At: noon(t, "2026-02-01")}, stock)
	refused(t, fault.Barred, "Only a steward records for another", err)

	_, err = g.Count(t.Context(), g.by(g.nora, "2026-02-02"), register.Tally{Batch: out.Batches[0].ID, Number: 3})
	refused(t, fault.Barred, "members change only their own", err)
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-02-02"), out.Event.ID, "")
	refused(t, fault.Barred, "members change only their own", err)
}

func TestLeave(t *testing.T) {
	t.Parallel()
	g := plant(t)
	stools := g.add(crop.Woken, 4, "2026-01-05")
	g.add(crop.Boxed, 9, "2026-01-05")
	cut := g.done("2026-02-01", register.Step{Kind: crop.Strike, Batches: []int64{stools.ID}, Count: 30}).Batches[0]
	theirs, err := g.Add(t.Context(), g.by(g.piet, "2026-02-10"), register.Stock{Variety: g.late.ID, Stage: crop.Struck, Count: 5, Parent: cut.ID})
	require.NoError(t, err)
	_, err = g.SetTarget(t.Context(), g.by(g.nora, "2026-02-01"), g.late.ID, crop.Target{From: day(t, "2026-11-05")}, 40)
	require.NoError(t, err)
	_, err = g.SawBloom(t.Context(), g.by(g.nora, "2026-02-02"), register.Bloom{Variety: g.late.ID, Full: day(t, "2026-02-01"), Note: "Nora's secret"})
	require.NoError(t, err)

	require.NoError(t, g.Leave(t.Context(), g.by(g.nora, "2026-03-01")))

	line, err := g.Ancestors(t.Context(), theirs.Batches[0].ID)
	require.NoError(t, err)
	require.Len(t, line, 2)
	for _, b := range line {
		require.Zero(t, b.Member)
		require.Zero(t, b.Count)
		require.Empty(t, b.Spot+b.Owner)
	}
	_, err = g.Export(t.Context(), g.nora.ID)
	refused(t, fault.Missing, "has left", err)
	piet, err := g.Seat(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.True(t, piet.Member.Steward, "the longest-standing member takes over")
	for _, table := range []string{"plan", "job", "event", "bloom", "touch"} {
		var left int
		require.NoError(t, g.DB().QueryRowContext(t.Context(), `SELECT count(*) FROM `+table).Scan(&left))
		if table == "event" || table == "touch" || table == "plan" {
			require.Positive(t, left, "Piet's stays: %s", table)
			continue
		}
		if table == "bloom" {
			require.Zero(t, left, table)
		}
	}
	v, err := g.Variety(t.Context(), g.late.ID)
	require.NoError(t, err)
	require.Zero(t, v.AddedBy)

	require.NoError(t, g.Leave(t.Context(), g.by(g.piet, "2026-03-02")))
	for _, table := range []string{"member", "batch", "plan", "job", "event", "touch"} {
		var left int
		require.NoError(t, g.DB().QueryRowContext(t.Context(), `SELECT count(*) FROM `+table).Scan(&left))
		require.Zero(t, left, "nobody needs any of it: %s", table)
	}
}

func TestExport(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Boxed, 9, "2026-01-05")
	_, err := g.SetOwn(t.Context(), g.by(g.nora, "2026-02-01"), g.late.ID, []variety.Stop{{On: calendar.Annual{Month: 6, Day: 7}, Lat: 52, Source: "own"}}, 9.5)
	require.NoError(t, err)
	x, err := g.Export(t.Context(), g.nora.ID)
	require.NoError(t, err)
	text, err := json.Marshal(x)
	require.NoError(t, err)
	var back register.Export
	require.NoError(t, json.Unmarshal(text, &back))
	back.Member.Key, back.Reminders.Key = x.Member.Key, x.Reminders.Key // the platform's, not told
	require.Equal(t, x, back)
	require.Len(t, x.Varieties, 1)
	require.Len(t, x.Batches, 1)
	require.Len(t, x.Plans, 1)
}
