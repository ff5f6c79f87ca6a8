package supply_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/supply"
)

// In a full table of varieties and years the parts are those of the two-way analysis of variance without repetition:
// of years (MSyears - MSrest) / varieties, and of the rest MSrest.
func TestLearnIsTheAnalysisOfVariance(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		varieties, years := rapid.IntRange(2, 8).Draw(t, "varieties"), rapid.IntRange(2, 9).Draw(t, "years")
		day := make([][]float64, varieties)
		grand := 0.0
		var blooms []supply.Bloom
		common := rapid.SliceOfN(rapid.Float64Range(-9, 9), years, years).Draw(t, "years' lateness")
		for v := range day {
			day[v] = rapid.SliceOfN(rapid.Float64Range(-5, 5), years, years).Draw(t, "lateness")
			for y := range day[v] {
				day[v][y] += common[y] + float64(20*v)
				grand += day[v][y] / float64(varieties*years)
				blooms = append(blooms, supply.Bloom{Variety: int64(v), Member: int64(v % 3), Year: 2020 + y, Day: day[v][y]})
			}
		}
		byYear, byVariety, total := 0.0, 0.0, 0.0
		for y := range years {
			mean := 0.0
			for v := range day {
				mean += day[v][y] / float64(varieties)
				total += (day[v][y] - grand) * (day[v][y] - grand)
			}
			byYear += float64(varieties) * (mean - grand) * (mean - grand)
		}
		for v := range day {
			mean := 0.0
			for y := range years {
				mean += day[v][y] / float64(years)
			}
			byVariety += float64(years) * (mean - grand) * (mean - grand)
		}
		rest := (total - byYear - byVariety) / float64((varieties-1)*(years-1))
		ofYears := (byYear/float64(years-1) - rest) / float64(varieties)
		share := min(max(ofYears/(ofYears+rest), 0), 0.95)
		want := (supply.EarlierYears*0.4 + float64(years-1)*share) / float64(supply.EarlierYears+years-1)
		got := supply.Learn(blooms, supply.DefaultSplit())
		require.InDelta(t, want, got.Season, 1e-6)
		require.Equal(t, years, got.Years)
		require.Zero(t, got.Pairs)
	})
}

func TestLearnFindsWhatWasDrawn(t *testing.T) {
	t.Parallel()
	for _, drawn := range []supply.Split{{Season: 0.7, Variety: 0.1}, {Season: 0.1, Variety: 0.6}, {}} {
		src := rand.New(rand.NewPCG(3, 9))
		var blooms []supply.Bloom
		season, ofVariety, own := drawn.Season, drawn.Variety, 1-drawn.Season-drawn.Variety
		for year := range 200 {
			shared := math.Sqrt(season) * src.NormFloat64()
			for v := range int64(6) {
				of := math.Sqrt(ofVariety) * src.NormFloat64()
				for member := range int64(4) {
					if src.IntN(3) > 0 { // records have holes
						blooms = append(blooms, supply.Bloom{Variety: v, Member: member, Year: year, Day: 5 * (shared + of + math.Sqrt(own)*src.NormFloat64())})
					}
				}
			}
		}
		got := supply.Learn(blooms, supply.DefaultSplit())
		require.InDelta(t, drawn.Season, got.Season, 0.08)
		require.InDelta(t, drawn.Variety, got.Variety, 0.06)
	}
}

func TestTooLittleTeachesNothing(t *testing.T) {
	t.Parallel()
	for name, blooms := range map[string][]supply.Bloom{
		"none":                         nil,
		"one year":                     {{Variety: 1, Year: 2026, Day: 300}, {Variety: 2, Year: 2026, Day: 310}},
		"two years that do not meet":   {{Variety: 1, Year: 2024, Day: 300}, {Variety: 1, Year: 2025, Day: 302}, {Variety: 2, Year: 2026, Day: 310}, {Variety: 2, Year: 2027, Day: 311}},
		"years that were all the same": {{Variety: 1, Year: 2024, Day: 300}, {Variety: 1, Year: 2025, Day: 300}, {Variety: 2, Year: 2024, Day: 310}, {Variety: 2, Year: 2025, Day: 310}},
	} {
		require.Equal(t, supply.Taught{Split: supply.DefaultSplit()}, supply.Learn(blooms, supply.DefaultSplit()), name)
	}
}
