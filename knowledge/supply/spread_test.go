package supply_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/fault"
	"shortday/knowledge/supply"
)

// wish is stems for some weeks of varieties with stops of their own, each stop moving the bloom on by some days.
func wish(weeks, varieties, stops, stems int) supply.Wish {
	w := supply.Wish{First: monday, Weeks: weeks, Stems: stems, Certainty: 0.95, Split: supply.DefaultSplit(), Most: map[int64]int{}}
	for v := range varieties {
		w.Most[int64(v+1)] = 100 * stems
		for s := range stops {
			likely := monday.Add(7*weeks*v/max(varieties, 1) + 4*s - 10)
			w.Choices = append(w.Choices, supply.Choice{Stock: int64(v + 1), Variety: int64(v + 1), Window: within(likely, 8+v%5), Stems: 3 + v%4})
		}
	}
	return w
}

func planned(w supply.Wish, s supply.Spread) []supply.Planting {
	all := append([]supply.Planting{}, w.Standing...)
	for i, n := range s.Plants {
		if n > 0 {
			c := w.Choices[i]
			all = append(all, supply.Planting{ID: int64(1000 + i), Variety: c.Variety, Stems: n * c.Stems, Window: c.Window})
		}
	}
	return all
}

// simulated gives by week in which share of so many seasons the stems are there, from the definition.
func simulated(src *rand.Rand, w supply.Wish, all []supply.Planting, seasons int) []float64 {
	met := make([]float64, w.Weeks)
	for range seasons {
		stems := make([]int, w.Weeks)
		for i, day := range season(src, w.Split, all) {
			if d := day.Sub(w.First); d >= 0 && d < 7*w.Weeks {
				stems[d/7] += all[i].Stems
			}
		}
		for i, n := range stems {
			if n >= w.Stems {
				met[i] += 1 / float64(seasons)
			}
		}
	}
	return met
}

func TestSpreadMeetsWhatItStates(t *testing.T) {
	t.Parallel()
	const seasons = 10_000
	for _, w := range []supply.Wish{wish(1, 4, 8, 20), wish(3, 3, 10, 40), wish(4, 6, 8, 60), wish(2, 6, 8, 300)} {
		got, err := supply.Plan(w)
		require.NoError(t, err)
		require.True(t, got.Met)
		met := simulated(rand.New(rand.NewPCG(11, 5)), w, planned(w, got), seasons)
		for i, c := range got.Chance {
			require.GreaterOrEqual(t, c, w.Certainty)
			require.Greater(t, met[i], w.Certainty-3*math.Sqrt(0.95*0.05/seasons), "week %d", i)
			require.InDelta(t, c, met[i], 0.01, "the chance stated, week %d", i)
		}
		require.LessOrEqual(t, got.Least, got.Total)
		t.Log(w.Weeks, len(w.Choices), w.Stems, got.Total, got.Least, got.Tried, got.Plants)
	}
}

func TestSpread(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := wish(rapid.IntRange(1, 3).Draw(t, "weeks"), rapid.IntRange(1, 3).Draw(t, "varieties"), rapid.IntRange(1, 3).Draw(t, "stops"), rapid.IntRange(1, 40).Draw(t, "stems"))
		w.Certainty = rapid.Float64Range(0.5, 0.95).Draw(t, "certainty")
		for stock := range w.Most {
			w.Most[stock] = rapid.IntRange(0, 60).Draw(t, "most")
		}
		got, err := supply.Plan(w)
		require.NoError(t, err)
		again, err := supply.Plan(w)
		require.NoError(t, err)
		require.Equal(t, got, again, "the same question has the same answer")
		of := map[int64]int{}
		total := 0
		for i, n := range got.Plants {
			require.GreaterOrEqual(t, n, 0)
			of[w.Choices[i].Stock] += n
			total += n
		}
		require.Equal(t, total, got.Total)
		for stock, n := range of {
			require.LessOrEqual(t, n, w.Most[stock])
		}
		for _, c := range got.Chance {
			require.True(t, !got.Met || c >= w.Certainty)
		}
		if got.Met { // what stands already is not asked for again
			w.Standing = planned(w, got)
			none, err := supply.Plan(w)
			require.NoError(t, err)
			require.True(t, none.Met)
			require.Zero(t, none.Total)
		}
	})
}

func TestSpreadOfWhatIsSure(t *testing.T) {
	t.Parallel()
	w := supply.Wish{First: monday, Weeks: 2, Stems: 10, Certainty: 0.95, Split: supply.DefaultSplit(), Most: map[int64]int{1: 9, 2: 9},
		Choices: []supply.Choice{
			{Stock: 1, Variety: 1, Window: within(monday.Add(3), 1), Stems: 4},
			{Stock: 2, Variety: 2, Window: within(monday.Add(10), 1), Stems: 5},
			{Stock: 2, Variety: 2, Window: within(monday.Add(100), 1), Stems: 100},
		}}
	got, err := supply.Plan(w)
	require.NoError(t, err)
	require.Equal(t, []int{3, 2, 0}, got.Plants)
	require.True(t, got.Met && got.Tried)
	require.Equal(t, 5, got.Least)

	w.Most[1] = 2
	got, err = supply.Plan(w)
	require.NoError(t, err)
	require.False(t, got.Met)
	require.InDelta(t, 0, got.Chance[0], 1e-6)
	require.InDelta(t, 1, got.Chance[1], 1e-3)
}

func TestSpreadRefused(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(*supply.Wish){
		"weeks":     func(w *supply.Wish) { w.Weeks = 27 },
		"stems":     func(w *supply.Wish) { w.Stems = 0 },
		"certainty": func(w *supply.Wish) { w.Certainty = 0.999 },
		"choices":   func(w *supply.Wish) { w.Choices = make([]supply.Choice, 1001) },
	} {
		w := wish(2, 2, 2, 10)
		change(&w)
		_, err := supply.Plan(w)
		require.Equal(t, fault.Unclear, fault.KindOf(err), name)
	}
}

func BenchmarkPlan(b *testing.B) {
	for _, varieties := range []int{6, 20, 60} {
		w := wish(12, varieties, 8, 100)
		b.Run(fmt.Sprintf("12x%d", varieties), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				got, err := supply.Plan(w)
				require.NoError(b, err)
				b.ReportMetric(float64(got.Total), "plants")
				b.ReportMetric(float64(got.Least), "least")
			}
		})
	}
}
