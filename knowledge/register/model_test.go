package register_test

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// plants is what the model knows of a batch.
type plants struct {
	count  int
	stage  crop.Stage
	parent int64
}

// model is the register as a map, with the states before each event that stands.
type model struct {
	now    map[int64]plants
	events []int64
	before []map[int64]plants
}

func (m *model) kept(event int64, change func()) {
	m.events, m.before = append(m.events, event), append(m.before, maps.Clone(m.now))
	change()
}

func (m *model) live(t *rapid.T) (id int64, p plants, ok bool) {
	var ids []int64
	for _, id := range slices.Sorted(maps.Keys(m.now)) {
		if m.now[id].count > 0 {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return 0, plants{}, false
	}
	id = rapid.SampledFrom(ids).Draw(t, "batch")
	return id, m.now[id], true
}

// TestModel plays deeds in any order against the register and against a map: counts, stages and lineage agree after
// each, and undoing all in turn leads back to nothing.
func TestModel(t *testing.T) {
	t.Parallel()
	g := plant(t)
	rapid.Check(t, func(t *rapid.T) {
		v := g.late.Variety
		v.Name = "Model " + rapid.StringMatching(`[a-z]{20}`).Draw(t, "name")
		kept, err := g.AddVariety(g.t.Context(), g.by(g.nora, "2026-02-01"), v)
		if fault.KindOf(err) == fault.Taken {
			t.Skip("the name is in use")
		}
		require.NoError(t, err)
		m := &model{now: map[int64]plants{}}
		nora := g.by(g.nora, "2026-02-01")
		deeds := map[string]func(*rapid.T){
			"add": func(t *rapid.T) {
				n := rapid.IntRange(1, 9).Draw(t, "n")
				stage := rapid.SampledFrom([]crop.Stage{crop.Boxed, crop.Woken, crop.Struck}).Draw(t, "stage")
				out, err := g.Add(g.t.Context(), nora, register.Stock{Variety: kept.ID, Stage: stage, Count: n})
				require.NoError(t, err)
				m.kept(out.Event.ID, func() { m.now[out.Batches[0].ID] = plants{n, stage, 0} })
			},
			"count": func(t *rapid.T) {
				id, p, ok := m.live(t)
				if !ok {
					return
				}
				n := rapid.IntRange(0, 12).Draw(t, "n")
				out, err := g.Count(g.t.Context(), nora, register.Tally{Batch: id, Number: n, Died: rapid.Bool().Draw(t, "died")})
				require.NoError(t, err)
				m.kept(out.Event.ID, func() { p.count = n; m.now[id] = p })
			},
			"split": func(t *rapid.T) {
				id, p, ok := m.live(t)
				if !ok {
					return
				}
				n := rapid.IntRange(1, 12).Draw(t, "n")
				out, err := g.Move(g.t.Context(), nora, register.Shift{Batch: id, Count: n, Spot: "box 2"})
				if n > p.count {
					require.Equal(t, fault.Unclear, fault.KindOf(err))
					return
				}
				require.NoError(t, err)
				m.kept(out.Event.ID, func() {
					if n < p.count {
						m.now[out.Batches[1].ID] = plants{n, p.stage, id}
						m.now[id] = plants{p.count - n, p.stage, p.parent}
					}
				})
			},
			"wake": func(t *rapid.T) {
				id, p, ok := m.live(t)
				if !ok {
					return
				}
				n, lost := rapid.IntRange(0, 9).Draw(t, "n"), rapid.IntRange(0, 3).Draw(t, "lost")
				out, err := g.Done(g.t.Context(), nora, register.Step{Kind: crop.Wake, Batches: []int64{id}, Count: n, Lost: lost})
				if p.stage == crop.Woken || n+lost > p.count {
					require.Error(t, err)
					return
				}
				require.NoError(t, err)
				m.kept(out.Event.ID, func() {
					left := p.count - lost
					switch {
					case left == 0:
						m.now[id] = plants{0, p.stage, p.parent}
					case n == 0 || n == left:
						m.now[id] = plants{left, crop.Woken, p.parent}
					default:
						m.now[id] = plants{left - n, p.stage, p.parent}
						m.now[out.Batches[1].ID] = plants{n, crop.Woken, id}
					}
				})
			},
			"strike": func(t *rapid.T) {
				id, p, ok := m.live(t)
				n := rapid.IntRange(1, 30).Draw(t, "n")
				if !ok || p.stage != crop.Woken {
					return
				}
				out, err := g.Done(g.t.Context(), nora, register.Step{Kind: crop.Strike, Batches: []int64{id}, Count: n})
				require.NoError(t, err)
				m.kept(out.Event.ID, func() { m.now[out.Batches[0].ID] = plants{n, crop.Struck, id} })
			},
			"undo": func(t *rapid.T) { m.undo(t, g, nora) },
		}
		// Few steps a run: each is a deed on a real file.
		for _, deed := range rapid.SliceOfN(rapid.SampledFrom(slices.Sorted(maps.Keys(deeds))), 1, 10).Draw(t, "deeds") {
			deeds[deed](t)
			m.agrees(t, g, kept.ID)
		}
		for len(m.events) > 0 {
			m.undo(t, g, nora)
		}
		m.agrees(t, g, kept.ID)
	})
	g.sound()
}

func (m *model) undo(t *rapid.T, g *garden, by register.Actor) {
	last := len(m.events) - 1
	if last < 0 {
		return
	}
	_, err := g.Undo(g.t.Context(), by, m.events[last], "a slip")
	require.NoError(t, err)
	m.now, m.events, m.before = m.before[last], m.events[:last], m.before[:last]
}

func (m *model) agrees(t *rapid.T, g *garden, variety int64) {
	live, err := g.Batches(g.t.Context(), g.nora.ID, variety)
	require.NoError(t, err)
	got := map[int64]plants{}
	for _, b := range live {
		got[b.ID] = plants{b.Count, b.Stage, b.Parent}
	}
	want := maps.Clone(m.now)
	maps.DeleteFunc(want, func(_ int64, p plants) bool { return p.count == 0 })
	require.Equal(t, want, got)
	keeps, err := g.Plans(g.t.Context(), g.nora.ID, variety)
	require.NoError(t, err)
	require.Equal(t, len(want) > 0, len(keeps) == 1, "a keep-plan exactly while there are plants")
}
