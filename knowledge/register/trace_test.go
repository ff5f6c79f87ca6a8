package register_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/health"
	"shortday/knowledge/register"
)

// plot is what the walk by hand knows of a batch: where it was on each day.
type plot struct {
	id, owner, parent int64
	made              calendar.Day
	spots             map[calendar.Day][]string
	now               string
	undone            bool
}

// walkway is a co-op in which plants are raised, handed on and moved, day by day, in the register and by hand.
type walkway struct {
	*garden
	t       *rapid.T
	members []register.Member
	variety int64
	first   calendar.Day
	plots   []*plot
}

func (w *walkway) stands(p *plot, on calendar.Day) {
	if p.now != "" && !p.undone && !slices.Contains(p.spots[on], p.now) {
		p.spots[on] = append(p.spots[on], p.now)
	}
}

func (w *walkway) by(owner int64, on calendar.Day) register.Actor {
	return register.Actor{Member: owner, At: on.UTC().Add(1)}
}

// raise makes a batch, from another one where there is any: of its own member, or of any, which hands it over.
func (w *walkway) raise(on calendar.Day) {
	p := &plot{made: on, spots: map[calendar.Day][]string{}, owner: rapid.SampledFrom(w.members).Draw(w.t, "member").ID}
	if n := len(w.plots); n > 0 && rapid.IntRange(0, 4).Draw(w.t, "bought") > 0 {
		if from := rapid.SampledFrom(w.plots).Draw(w.t, "from"); !from.undone {
			p.parent = from.id
		}
	}
	p.now = rapid.SampledFrom([]string{"", "Bench 1", "bench 1", "bench 2"}).Draw(w.t, "spot")
	out, err := w.Add(w.garden.t.Context(), w.by(p.owner, on), register.Stock{Variety: w.variety, Stage: crop.Potted, Count: 9, Spot: p.now, Parent: p.parent, Since: on})
	require.NoError(w.t, err)
	p.id, p.now = out.Batches[0].ID, strings.ToLower(p.now)
	if p.parent == 0 && rapid.IntRange(0, 5).Draw(w.t, "slip") == 0 {
		_, err := w.Undo(w.garden.t.Context(), w.by(p.owner, on), out.Event.ID, "a slip")
		require.NoError(w.t, err)
		p.undone = true
	}
	w.plots = append(w.plots, p)
}

func (w *walkway) move(on calendar.Day) {
	if len(w.plots) == 0 {
		return
	}
	p := rapid.SampledFrom(w.plots).Draw(w.t, "moved")
	spot := rapid.SampledFrom([]string{"bench 1", "bench 2", "tunnel"}).Draw(w.t, "to")
	if p.undone {
		return
	}
	_, err := w.Move(w.garden.t.Context(), w.by(p.owner, on), register.Shift{Batch: p.id, Spot: spot, On: on})
	require.NoError(w.t, err)
	w.stands(p, on)
	p.now = spot
}

// met reports whether a pest could pass from one batch to another on a day.
func (w *walkway) met(from, to *plot, on calendar.Day) bool {
	switch {
	case from.undone || to.undone:
		return false
	case to.parent == from.id && to.made == on:
		return true
	}
	return from.owner == to.owner && slices.ContainsFunc(from.spots[on], func(s string) bool { return slices.Contains(to.spots[on], s) })
}

// infected lets a pest go where it can, day by day, and tells when each batch had it.
func (w *walkway) infected(start *plot, since, until calendar.Day) map[int64]calendar.Day {
	has := map[int64]calendar.Day{start.id: since}
	for on := since; on <= until; on++ {
		for again := true; again; {
			again = false
			for _, from := range w.plots {
				if _, ok := has[from.id]; !ok {
					continue
				}
				for _, to := range w.plots {
					if _, ok := has[to.id]; !ok && w.met(from, to, on) {
						has[to.id], again = on, true
					}
				}
			}
		}
	}
	return has
}

// suspects finds by hand the day from which each batch may have the pest: of sources the first day that counts.
func (w *walkway) suspects(seen *plot, on calendar.Day, back, forward int) (sources map[int64]bool, all map[int64]calendar.Day) {
	sources, all = map[int64]bool{}, map[int64]calendar.Day{}
	since := on.Add(-back)
	for _, p := range w.plots {
		if _, ok := w.infected(p, since, on)[seen.id]; ok {
			sources[p.id] = true
		}
	}
	for _, p := range w.plots {
		if !sources[p.id] {
			continue
		}
		for id, day := range w.infected(p, since, on.Add(forward)) {
			if was, ok := all[id]; !ok || day < was {
				all[id] = day
			}
		}
	}
	return sources, all
}

func TestTraceIsAWalkByHand(t *testing.T) {
	t.Parallel()
	g := plant(t)
	run := 0
	rapid.Check(t, func(t *rapid.T) {
		run++
		w := &walkway{garden: g, t: t, first: calendar.DayOf(2027, 1, 1)}
		for _, name := range []string{"Ada", "Bo", "Cy"} {
			seat, err := g.Enter(g.t.Context(), register.Entry{CoopKey: fmt.Sprint("walk", run), CoopName: "Walk", Key: name, Name: name, At: w.first.UTC()})
			require.NoError(t, err)
			w.members = append(w.members, seat.Member)
		}
		v, err := g.AddVariety(g.t.Context(), w.by(w.members[0].ID, w.first), g.late.Variety)
		require.NoError(t, err)
		w.variety = v.ID
		last := w.first.Add(30)
		at := rapid.SliceOfN(rapid.IntRange(0, 30), 2, 12).Draw(t, "days")
		slices.Sort(at)
		for on := w.first; on <= last; on++ {
			for _, day := range at {
				if w.first.Add(day) != on {
					continue
				}
				if rapid.IntRange(0, 2).Draw(t, "deed") > 0 {
					w.raise(on)
				} else {
					w.move(on)
				}
			}
			for _, p := range w.plots {
				w.stands(p, on)
			}
		}
		w.traced(last)
	})
}

// traced reports white rust on a batch and holds the trace against the walk by hand, with days back and forward as they
// are: all deeds lie within a month, so that what shows soonest is a fortnight and not all of it.
func (w *walkway) traced(last calendar.Day) {
	var standing []*plot
	for _, p := range w.plots {
		if !p.undone {
			standing = append(standing, p)
		}
	}
	if len(standing) == 0 {
		return
	}
	seen := rapid.SampledFrom(standing).Draw(w.t, "seen")
	on := seen.made.Add(rapid.IntRange(0, last.Sub(seen.made)).Draw(w.t, "seen on"))
	pest, _ := health.PestOf(health.WhiteRust)
	out, err := w.Sight(w.garden.t.Context(), w.by(seen.owner, last), register.Sighting{Batches: []int64{seen.id}, Pest: pest.Key, Seen: on})
	require.NoError(w.t, err)
	trail, err := w.Trace(w.garden.t.Context(), out.Report.ID, 0)
	require.NoError(w.t, err)
	// Where no one knows better plants stand where they are for good.
	for _, p := range w.plots {
		for day := last + 1; day <= on.Add(pest.Hidden.Forward); day++ {
			w.stands(p, day)
		}
	}
	sources, all := w.suspects(seen, on, pest.Hidden.BackMax, pest.Hidden.Forward)
	_, soon := w.suspects(seen, on, pest.Hidden.BackMin, pest.Hidden.Forward)
	require.Len(w.t, trail.Suspects, len(all)-1)
	for _, s := range trail.Suspects {
		day, ok := all[s.Plants.ID]
		require.True(w.t, ok, s.Plants.Mark)
		_, likely := soon[s.Plants.ID]
		require.Equal(w.t, likely, s.Likely)
		require.Equal(w.t, sources[s.Plants.ID], s.Side == health.Source)
		if s.Side == health.Target {
			require.Equal(w.t, day, s.Day)
		}
		require.Equal(w.t, seen.id, s.Path[0].Plants.ID)
		require.Equal(w.t, s.Plants.ID, s.Path[len(s.Path)-1].Plants.ID)
		require.Len(w.t, s.Path, s.Hops+1)
	}
}

// A trace asks as much of the register for many suspects as for few, of as many members.
func TestTraceCostsNoStatementASuspect(t *testing.T) {
	t.Parallel()
	g := plant(t)
	box := g.has(g.nora, 0, "box 1", "2027-05-10")
	tray := g.has(g.nora, box.ID, "bench 1", "2027-05-20")
	g.has(g.piet, tray.ID, "frame", "2027-06-10")
	out := g.sees(g.nora, "2027-06-30", box, register.Sighting{})
	cost := func(want int) int64 {
		before := g.Statements()
		trail, err := g.Trace(t.Context(), out.Report.ID, 0)
		require.NoError(t, err)
		require.Len(t, trail.Suspects, want)
		return g.Statements() - before
	}
	few := cost(2)
	for i := range 30 {
		g.has([]register.Member{g.nora, g.piet}[i%2], tray.ID, "bench 1", "2027-06-20")
	}
	require.Equal(t, few, cost(32))
}
