package supply_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/supply"
	"shortday/knowledge/variety"
)

var monday = calendar.DayOf(2027, 10, 4)

func within(likely calendar.Day, half int) calendar.Window {
	return calendar.Window{Earliest: likely.Add(-half), Likely: likely, Latest: likely.Add(half)}
}

func plantings(t *rapid.T, most int) []supply.Planting {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) supply.Planting {
		likely := monday.Add(rapid.IntRange(-20, 80).Draw(t, "likely"))
		return supply.Planting{
			ID: rapid.Int64Range(1, 1_000_000).Draw(t, "id"), Variety: rapid.Int64Range(1, 5).Draw(t, "variety"),
			Season: variety.Late, Stems: rapid.IntRange(0, 500).Draw(t, "stems"),
			Window: calendar.Window{Earliest: likely.Add(-rapid.IntRange(0, 30).Draw(t, "early")), Likely: likely, Latest: likely.Add(rapid.IntRange(0, 30).Draw(t, "late"))},
		}
	}), 0, most).Draw(t, "plantings")
}

func promises(t *rapid.T) []supply.Promise {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) supply.Promise {
		wants := rapid.IntRange(0, 31).Draw(t, "varieties")
		return supply.Promise{
			ID: rapid.Int64Range(1, 1000).Draw(t, "id"), Week: monday.Add(rapid.IntRange(0, 55).Draw(t, "day")),
			Stems: rapid.IntRange(1, 400).Draw(t, "promised"), Narrow: rapid.IntRange(0, 2).Draw(t, "narrow"),
			Fits: func(v int64) bool { return wants>>(v-1)&1 == 1 },
		}
	}), 0, 8).Draw(t, "promises")
}

func TestWeeksSumToTheStems(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		q := supply.Question{First: monday, Weeks: 8, Today: monday.Add(rapid.IntRange(-60, 70).Draw(t, "today")),
			Plantings: plantings(t, 12), Promises: promises(t), Split: supply.DefaultSplit()}
		stems := 0
		for _, p := range q.Plantings {
			stems += p.Stems
		}
		out := supply.Reckon(q)
		sum := func(r supply.Row) float64 {
			total := r.Before.Expected + r.After.Expected
			for _, w := range r.Weeks {
				total += w.Expected
			}
			return total
		}
		require.Equal(t, float64(stems), sum(out.All))
		require.Equal(t, stems, out.All.Stems)
		of := make([]float64, q.Weeks)
		for _, rows := range [][]supply.Row{out.Varieties, out.Seasons} {
			total := 0.0
			for _, r := range rows {
				total += sum(r)
				require.Equal(t, float64(r.Stems), sum(r))
				for w := range r.Weeks {
					of[w] += r.Weeks[w].Expected
				}
			}
			require.Equal(t, float64(stems), total)
		}
		served := make([]float64, q.Weeks)
		for _, p := range out.Promises {
			served[p.Week.Sub(monday)/7] += p.Expected
		}
		for w, week := range out.Weeks {
			require.Equal(t, 2*out.All.Weeks[w].Expected, of[w], "rows by variety and rows by season both give the week")
			require.InDelta(t, out.All.Weeks[w].Expected, served[w]+week.Free.Expected, 1e-6, "what is not free is served")
			require.GreaterOrEqual(t, week.Free.Low, 0)
		}
	})
}

func TestMorePlantsNeverLowerAChance(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		q := supply.Question{First: monday, Weeks: 8, Plantings: plantings(t, 8), Promises: promises(t), Split: supply.DefaultSplit()}
		before := supply.Reckon(q)
		for _, p := range plantings(t, 3) {
			p.ID += 2_000_000
			q.Plantings = append(q.Plantings, p)
		}
		for i := range q.Plantings {
			q.Plantings[i].Stems += rapid.IntRange(0, 50).Draw(t, "more")
		}
		after := supply.Reckon(q)
		for i, p := range before.Promises {
			require.Equal(t, p.ID, after.Promises[i].ID)
			require.GreaterOrEqual(t, after.Promises[i].Met, p.Met)
			require.LessOrEqual(t, after.Promises[i].Short, p.Short)
		}
		for w := range before.Weeks {
			require.GreaterOrEqual(t, after.Weeks[w].Met, before.Weeks[w].Met)
			require.GreaterOrEqual(t, after.All.Weeks[w].Low, before.All.Weeks[w].Low)
		}
	})
}

// season draws one season from the definition, with a generator of its own.
func season(src *rand.Rand, split supply.Split, plantings []supply.Planting) []calendar.Day {
	shared, of := src.NormFloat64(), map[int64]float64{}
	days := make([]calendar.Day, len(plantings))
	for i, p := range plantings {
		if _, ok := of[p.Variety]; !ok {
			of[p.Variety] = src.NormFloat64()
		}
		z := math.Sqrt(split.Season)*shared + math.Sqrt(split.Variety)*of[p.Variety] + math.Sqrt(1-split.Season-split.Variety)*src.NormFloat64()
		side := float64(p.Window.Latest.Sub(p.Window.Likely))
		if z < 0 {
			side = float64(p.Window.Likely.Sub(p.Window.Earliest))
		}
		days[i] = p.Window.Likely.Add(int(math.Round(z * side / 1.645)))
	}
	return days
}

func TestBandsAreThoseOfIndependentSeasons(t *testing.T) {
	t.Parallel()
	const drawn = 40_000
	var all []supply.Planting
	for i := range 30 {
		all = append(all, supply.Planting{ID: int64(i + 1), Variety: int64(i/6 + 1), Stems: 20 + i, Window: within(monday.Add(2*i), 8+i/3)})
	}
	for _, split := range []supply.Split{{}, supply.DefaultSplit(), {Season: 0.9}, {Season: 0.1, Variety: 0.9}} {
		got := supply.Reckon(supply.Question{First: monday, Weeks: 8, Plantings: all, Split: split})
		src := rand.New(rand.NewPCG(7, 28))
		mean, atLeast := make([]float64, 8), make([]float64, 8)
		for range drawn {
			weeks := make([]int, 8)
			for i, day := range season(src, split, all) {
				if d := day.Sub(monday); d >= 0 && d < 56 {
					weeks[d/7] += all[i].Stems
				}
			}
			for w, n := range weeks {
				mean[w] += float64(n) / drawn
				if n >= got.All.Weeks[w].Low {
					atLeast[w] += 1.0 / drawn
				}
			}
		}
		for w, b := range got.All.Weeks {
			require.InEpsilon(t, mean[w], b.Expected, 0.05, "week %d of %+v", w, split)
			require.Greater(t, atLeast[w], 0.95-0.02, "week %d of %+v", w, split)
			require.LessOrEqual(t, float64(b.Low), b.Expected)
			require.GreaterOrEqual(t, float64(b.High), b.Expected)
		}
	}
}

// A shared lateness widens the band of a sum: that is why it is not left out.
func TestSharedLatenessWidens(t *testing.T) {
	t.Parallel()
	var all []supply.Planting
	for i := range 40 {
		all = append(all, supply.Planting{ID: int64(i + 1), Variety: int64(i + 1), Stems: 10, Window: within(monday.Add(24), 12)})
	}
	width := func(s supply.Split) int {
		b := supply.Reckon(supply.Question{First: monday, Weeks: 8, Plantings: all, Split: s}).All.Weeks[3]
		return b.High - b.Low
	}
	require.Greater(t, 2*width(supply.Split{Season: 0.4, Variety: 0.4}), 3*width(supply.Split{}))
	require.Greater(t, width(supply.Split{Season: 0.9}), width(supply.Split{Season: 0.4}))
}

func TestWhatIsSureCountsAsItWas(t *testing.T) {
	t.Parallel()
	got := supply.Reckon(supply.Question{First: monday, Weeks: 2, Today: monday.Add(8), Split: supply.DefaultSplit(), Plantings: []supply.Planting{
		{ID: 1, Variety: 1, Stems: 30, Window: calendar.On(monday.Add(6))},
		{ID: 2, Variety: 1, Stems: 5, Window: within(monday.Add(-30), 4)}, // long due and not seen: from today on
	}})
	require.Equal(t, []supply.Band{{Expected: 30, Low: 30, High: 30}, {Expected: 5, Low: 5, High: 5}}, got.All.Weeks)
	require.Zero(t, got.All.Before)
}

func TestPromisesAreServedNarrowFirst(t *testing.T) {
	t.Parallel()
	is := func(of ...int64) func(int64) bool {
		return func(v int64) bool {
			for _, o := range of {
				if v == o {
					return true
				}
			}
			return false
		}
	}
	known := func(v int64, stems int) supply.Planting {
		return supply.Planting{ID: v, Variety: v, Stems: stems, Window: calendar.On(monday)}
	}
	for _, c := range []struct {
		name     string
		stems    [3]int
		promises []supply.Promise
		short    []int
		free     int
	}{
		{"narrow before wide, though younger", [3]int{50, 0, 0}, []supply.Promise{{ID: 1, Stems: 40}, {ID: 2, Stems: 30, Narrow: 9, Fits: is(1)}}, []int{0, 20}, 0},
		{"older of two alike", [3]int{50, 0, 0}, []supply.Promise{{ID: 2, Stems: 40}, {ID: 1, Stems: 30}}, []int{0, 20}, 0},
		{"the wide one gives way to what else fits it", [3]int{10, 10, 0}, []supply.Promise{{ID: 1, Stems: 10, Fits: is(1, 2)}, {ID: 2, Stems: 10, Fits: is(1)}}, []int{0, 0}, 0},
		{"a chain of three", [3]int{10, 10, 10}, []supply.Promise{{ID: 1, Stems: 10, Fits: is(1, 2)}, {ID: 2, Stems: 10, Fits: is(2, 3)}, {ID: 3, Stems: 10, Fits: is(1)}}, []int{0, 0, 0}, 0},
		{"nothing fits", [3]int{10, 0, 0}, []supply.Promise{{ID: 1, Stems: 10, Fits: is(3)}}, []int{10}, 10},
		{"part of it", [3]int{4, 3, 9}, []supply.Promise{{ID: 1, Stems: 10, Fits: is(1, 2)}}, []int{3}, 9},
	} {
		q := supply.Question{First: monday, Weeks: 1}
		for i, n := range c.stems {
			q.Plantings = append(q.Plantings, known(int64(i+1), n))
		}
		for _, p := range c.promises {
			p.Week = monday.Add(6)
			q.Promises = append(q.Promises, p)
		}
		got := supply.Reckon(q)
		var short []int
		for _, p := range got.Promises {
			short = append(short, p.Short)
			require.Equal(t, p.Short == 0, p.Met == 1, c.name)
		}
		require.Equal(t, c.short, short, c.name)
		require.Equal(t, c.free, got.Weeks[0].Free.Low, c.name)
	}
}

func BenchmarkReckon(b *testing.B) {
	for _, size := range []struct{ plantings, varieties, promises int }{{100, 20, 10}, {10_000, 60, 60}, {10_000, 300, 200}} {
		src := rand.New(rand.NewPCG(1, 2))
		q := supply.Question{First: monday.Add(-35), Weeks: 18, Split: supply.DefaultSplit()}
		for i := range size.plantings {
			v := src.IntN(size.varieties)
			q.Plantings = append(q.Plantings, supply.Planting{ID: int64(i + 1), Variety: int64(v + 1), Season: []variety.Season{variety.Early, variety.Mid, variety.Late}[v%3],
				Stems: 10 + src.IntN(100), Window: within(monday.Add(src.IntN(80)-20), 8+src.IntN(12))})
		}
		for i := range size.promises {
			of, narrow := int64(src.IntN(size.varieties)+1), src.IntN(3)
			q.Promises = append(q.Promises, supply.Promise{ID: int64(i + 1), Week: monday.Add(src.IntN(60)), Stems: 50 + src.IntN(2000), Narrow: narrow,
				Fits: func(v int64) bool { return narrow == 0 || narrow == 1 && v%3 == of%3 || v == of }})
		}
		b.Run(fmt.Sprintf("%d/%d/%d", size.plantings, size.varieties, size.promises), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				supply.Reckon(q)
			}
		})
	}
}
