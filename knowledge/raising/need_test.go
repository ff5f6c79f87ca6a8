package raising_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"shortday/knowledge/fault"
	"shortday/knowledge/raising"
)

// sure has every plant come through but the share at one step.
func sure() raising.Rates {
	all := raising.Rate{Share: 1}
	return raising.Rates{Winter: all, Strike: all, Grow: all, Market: all}
}

// Worked by hand from the binomial law, as a check for the project: 40 of 48 at 90 % is 96 %, 40 of 47 is 93 %.
func TestFortyTakeFortyEight(t *testing.T) {
	t.Parallel()
	rates := sure()
	rates.Strike.Share = 0.9
	got, err := raising.Raise(raising.Need{Stems: 40, Certainty: 0.95, Rates: rates})
	require.NoError(t, err)
	require.Equal(t, 48, got.Cuttings)
	require.Equal(t, 40, got.Plants)
	require.Equal(t, 40, got.Rooted)
}

func TestRaise(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name               string
		need               raising.Need
		good, cuttings, at int
	}{
		{"one stem, nothing lost", raising.Need{Stems: 1, Rates: sure()}, 1, 1, 1},
		{"stems share a plant", raising.Need{Stems: 9, StemsPerPlant: 4, Rates: sure()}, 3, 3, 1},
		{"plants are rounded up", raising.Need{Stems: 8, StemsPerPlant: 4, Rates: sure()}, 2, 2, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, err := raising.Raise(c.need)
			require.NoError(t, err)
			require.Equal(t, c.good, got.Good)
			require.Equal(t, c.cuttings, got.Cuttings)
			require.GreaterOrEqual(t, got.Stools, c.at)
			require.InDelta(t, 0.95, got.Certainty, 0)
		})
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	for name, need := range map[string]raising.Need{
		"no stems":         {},
		"too many stems":   {Stems: raising.MostStems + 1},
		"too certain":      {Stems: 1, Certainty: 1},
		"hardly certain":   {Stems: 1, Certainty: 0.1},
		"stems a plant":    {Stems: 1, StemsPerPlant: -1},
		"share above one":  {Stems: 1, Rates: raising.Rates{Strike: raising.Rate{Share: 1.1}}},
		"share below none": {Stems: 1, Rates: raising.Rates{Winter: raising.Rate{Share: -0.1}}},
		"wild stools":      {Stems: 1, Rates: raising.Rates{Shoots: raising.Shoots{Mean: 10, Spread: 9}}},
		"too many plants":  {Stems: raising.MostStems, Rates: raising.Rates{Strike: raising.Rate{Share: 0.01}}},
		"too many stools":  {Stems: raising.MostStems, Rates: raising.Rates{Shoots: raising.Shoots{Mean: 0.2}}},
	} {
		_, err := raising.Raise(need)
		require.Equal(t, fault.Unclear, fault.KindOf(err), name)
	}
	_, err := raising.Give(-1, raising.Need{})
	require.Error(t, err)
	_, err = raising.GiveCuttings(raising.MostCuttings+1, raising.Need{})
	require.Error(t, err)
	_, err = raising.StoolsFor(0, raising.Need{})
	require.Error(t, err)
}

func needs(t *rapid.T) raising.Need {
	share := rapid.Float64Range(0.3, 1)
	rate := func(name string) raising.Rate { return raising.Rate{Share: share.Draw(t, name)} }
	return raising.Need{
		Stems:         rapid.IntRange(1, 3000).Draw(t, "stems"),
		StemsPerPlant: rapid.IntRange(1, 8).Draw(t, "stems a plant"),
		Certainty:     rapid.Float64Range(0.5, 0.999).Draw(t, "certainty"),
		Rates: raising.Rates{
			Winter: rate("winter"), Strike: rate("strike"), Grow: rate("grow"), Market: rate("market"),
			Shoots: raising.Shoots{Mean: rapid.Float64Range(1, 30).Draw(t, "shoots"), Spread: rapid.Float64Range(0.05, 1).Draw(t, "spread")},
		},
	}
}

func TestMoreNeverTakesFewer(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		need := needs(t)
		more := need
		more.Stems += rapid.IntRange(0, 100).Draw(t, "more stems")
		more.Certainty += rapid.Float64Range(0, 0.999-need.Certainty).Draw(t, "more certainty")
		a, err := raising.Raise(need)
		require.NoError(t, err)
		b, err := raising.Raise(more)
		require.NoError(t, err)
		require.LessOrEqual(t, a.Plants, b.Plants)
		require.LessOrEqual(t, a.Rooted, b.Rooted)
		require.LessOrEqual(t, a.Cuttings, b.Cuttings)
		require.LessOrEqual(t, a.Stools, b.Stools)
		require.LessOrEqual(t, a.Good, a.Plants)
		require.LessOrEqual(t, a.Plants, a.Rooted)
		require.LessOrEqual(t, a.Rooted, a.Cuttings)
	})
}

func TestThereAndBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		need := needs(t)
		there, err := raising.Raise(need)
		require.NoError(t, err)
		back, err := raising.Give(there.Stools, need)
		require.NoError(t, err)
		require.GreaterOrEqual(t, back.Stems, need.Stems)
		fewer, err := raising.Give(there.Stools-1, need)
		require.NoError(t, err)
		require.Less(t, fewer.Stems, need.Stems)

		back, err = raising.GiveCuttings(there.Cuttings, need)
		require.NoError(t, err)
		require.GreaterOrEqual(t, back.Stems, need.Stems)
		fewer, err = raising.GiveCuttings(there.Cuttings-1, need)
		require.NoError(t, err)
		require.Less(t, fewer.Stems, need.Stems)

		stools, err := raising.StoolsFor(there.Cuttings, need)
		require.NoError(t, err)
		back, err = raising.Give(stools, need)
		require.NoError(t, err)
		require.GreaterOrEqual(t, back.Cuttings, there.Cuttings)
	})
}

// season plays one chain stool by stool and shoot by shoot, knowing nothing of the sums that raising reckons with.
func season(src rand.Source, stools int, r raising.Rates) (good int) {
	rnd := rand.New(src)
	size := 1 / (r.Shoots.Spread * r.Shoots.Spread)
	for range stools {
		if rnd.Float64() >= r.Winter.Share {
			continue
		}
		vigour := distuv.Gamma{Alpha: size, Beta: size / r.Shoots.Mean, Src: src}.Rand()
		for range int(distuv.Poisson{Lambda: vigour, Src: src}.Rand()) {
			if rnd.Float64() < r.Strike.Share && rnd.Float64() < r.Grow.Share && rnd.Float64() < r.Market.Share {
				good++
			}
		}
	}
	return good
}

func TestSimulatedCertainty(t *testing.T) {
	t.Parallel()
	const years = 5_000
	for _, need := range []raising.Need{
		{Stems: 40, StemsPerPlant: 4},
		{Stems: 300, StemsPerPlant: 3, Rates: raising.Rates{Winter: raising.Rate{Share: 0.6}}},
		{Stems: 25, StemsPerPlant: 1, Rates: raising.Rates{Shoots: raising.Shoots{Mean: 4, Spread: 0.8}}},
		{Stems: 80, StemsPerPlant: 2, Certainty: 0.8},
	} {
		got, err := raising.Raise(need)
		require.NoError(t, err)
		met := func(stools int) float64 {
			src := rand.NewPCG(27, uint64(stools))
			count := 0
			for range years {
				if season(src, stools, need.Rates.OrDefault()) >= got.Good {
					count++
				}
			}
			return float64(count) / years
		}
		slack := 4 * math.Sqrt(got.Certainty*(1-got.Certainty)/years)
		require.Greater(t, met(got.Stools), got.Certainty-slack)
		require.Less(t, met(got.Stools-1), got.Certainty+slack)
		require.Less(t, met(got.Stools-2-got.Stools/20), got.Certainty-slack)
	}
}

func TestNoStoolsGiveNothing(t *testing.T) {
	t.Parallel()
	got, err := raising.Give(0, raising.Need{})
	require.NoError(t, err)
	require.Equal(t, raising.Numbers{Certainty: 0.95}, got)
}

func TestBounds(t *testing.T) {
	t.Parallel()
	need := raising.Need{Stems: raising.MostStems}
	got, err := raising.Raise(need)
	require.NoError(t, err)
	back, err := raising.Give(got.Stools, need)
	require.NoError(t, err)
	require.GreaterOrEqual(t, back.Stems, need.Stems)
	require.InEpsilon(t, 1e6/(0.9*0.95*0.95), got.Cuttings, 0.01)

	most, err := raising.Give(raising.MostStools, raising.Need{StemsPerPlant: 100})
	require.NoError(t, err)
	require.InEpsilon(t, raising.MostStools*10*0.85, most.Cuttings, 0.01)
	_, err = raising.Give(raising.MostStools, raising.Need{Rates: raising.Rates{Shoots: raising.Shoots{Mean: 12}}})
	require.ErrorContains(t, err, "give fewer stools")
}

// Of many stools the plants are nearly normal, whatever law one stool follows: mean and variance alone then give the
// number, by the laws of total mean and variance.
func TestManyStoolsAreNearlyNormal(t *testing.T) {
	t.Parallel()
	for _, stools := range []int{3_000, 90_000} {
		for _, r := range []raising.Rates{
			{},
			{Winter: raising.Rate{Share: 0.5}, Shoots: raising.Shoots{Mean: 200, Spread: 0.01}},
			{Winter: raising.Rate{Share: 0.99}, Shoots: raising.Shoots{Mean: 2, Spread: 1}},
		} {
			got, err := raising.Give(stools, raising.Need{Rates: r})
			require.NoError(t, err)
			r = r.OrDefault()
			w, m, n := r.Winter.Share, r.Shoots.Mean, float64(stools)
			within := m + m*m*r.Shoots.Spread*r.Shoots.Spread
			deviation := math.Sqrt(n * (w*within + w*(1-w)*m*m))
			require.InDelta(t, n*w*m-1.64485*deviation, got.Cuttings, 0.03*deviation)
		}
	}
}

func BenchmarkRaise(b *testing.B) {
	for name, stems := range map[string]int{"200": 200, "1e6": raising.MostStems} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := raising.Raise(raising.Need{Stems: stems}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkGive(b *testing.B) {
	for name, stools := range map[string]int{"30": 30, "1e6": raising.MostStools} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := raising.Give(stools, raising.Need{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
