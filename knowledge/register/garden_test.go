package register_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// garden is a register with an invented co-op: Nora is steward, Piet is not, and one late variety is kept.
type garden struct {
	*register.Register
	t          testing.TB
	path       string
	nora, piet register.Member
	late       register.Variety
}

func day(t testing.TB, text string) calendar.Day {
	t.Helper()
	d, err := calendar.ParseDay(text)
	require.NoError(t, err)
	return d
}

func noon(t testing.TB, text string) time.Time {
	t.Helper()
	return day(t, text).UTC().Add(12 * time.Hour)
}

func plant(t testing.TB) *garden {
	t.Helper()
	path := filepath.Join(t.TempDir(), "garden #1 50%?.db")
	r, err := register.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { _ = r.Close() })
	g := &garden{Register: r, t: t, path: path}
	g.nora = g.enter("nora", "Nora")
	g.piet = g.enter("piet", "Piet")
	g.late, err = r.AddVariety(t.Context(), g.by(g.nora, "2026-01-02"), variety.Variety{Name: "Ember Late", Season: variety.Late, Response: 10})
	require.NoError(t, err)
	return g
}

func (g *garden) enter(key, name string) register.Member {
	g.t.Helper()
	seat, err := g.Enter(g.t.Context(), register.Entry{CoopKey: "hill", CoopName: "Hill Growers", Key: key, Name: name, At: noon(g.t, "2026-01-01")})
	require.NoError(g.t, err)
	_, err = g.SetMember(g.t.Context(), register.Actor{Member: seat.Member.ID, At: noon(g.t, "2026-01-01")}, register.Metric, 3,
		place.Place{Point: place.Point{Lat: 52, Lon: 5}, Zone: "Europe/Amsterdam", Exact: true, Cover: true, BottomHeat: true})
	require.NoError(g.t, err)
	seat, err = g.Seat(g.t.Context(), seat.Member.ID)
	require.NoError(g.t, err)
	return seat.Member
}

func (g *garden) by(m register.Member, on string) register.Actor {
	return register.Actor{Member: m.ID, At: noon(g.t, on)}
}

// add enters Nora's plants of the late variety.
func (g *garden) add(stage crop.Stage, count int, since string) register.Batch {
	g.t.Helper()
	out, err := g.Add(g.t.Context(), g.by(g.nora, since), register.Stock{Variety: g.late.ID, Stage: stage, Count: count, Since: day(g.t, since), Spot: "bench 1"})
	require.NoError(g.t, err)
	require.Len(g.t, out.Batches, 1)
	return out.Batches[0]
}

func (g *garden) done(on string, s register.Step) register.Outcome {
	g.t.Helper()
	if s.Plan == 0 && len(s.Batches) == 0 {
		s.Variety = g.late.ID
	}
	out, err := g.Done(g.t.Context(), g.by(g.nora, on), s)
	require.NoError(g.t, err)
	return out
}

// sound fails unless every batch's number is the sum of its deeds that stand.
func (g *garden) sound() {
	g.t.Helper()
	x, err := g.Export(g.t.Context(), g.nora.ID)
	require.NoError(g.t, err)
	undone := map[int64]bool{}
	for _, e := range x.Events {
		undone[e.ID] = !e.UndoneAt.IsZero()
	}
	sum := map[int64]int{}
	for _, c := range x.Counts {
		if !undone[c.Event] {
			sum[c.Batch] += c.Delta
		}
	}
	for _, b := range x.Batches {
		require.Equal(g.t, sum[b.ID], b.Count, "batch %s", b.Mark)
		require.Equal(g.t, b.Count > 0, b.Live(), "batch %s", b.Mark)
	}
}

func refused(t testing.TB, kind fault.Kind, says string, err error) {
	t.Helper()
	require.Error(t, err)
	require.Equal(t, kind, fault.KindOf(err), err.Error())
	require.Contains(t, err.Error(), says)
}

func (g *garden) at(on string) time.Time { return noon(g.t, on) }
