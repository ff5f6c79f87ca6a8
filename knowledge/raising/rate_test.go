package raising_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/raising"
)

func TestLearn(t *testing.T) {
	t.Parallel()
	strike := raising.Rates{}.OrDefault().Strike
	for _, c := range []struct {
		name        string
		tried, came int
		share       float64
		counts      int
	}{
		{"nothing counted", 0, 0, 0.90, 0},
		{"five of five", 5, 5, 23.0 / 25, 5},
		{"none of five", 5, 0, 18.0 / 25, 5},
		{"many counts rule", 980, 490, (18.0 + 490) / 1000, 980},
		{"more came than were tried", 5, 9, 23.0 / 25, 5},
		{"a count below none", -5, -1, 0.90, 0},
	} {
		got := raising.Learn(strike, c.tried, c.came)
		require.InDelta(t, c.share, got.Share, 1e-12, c.name)
		require.Equal(t, c.counts, got.Counts, c.name)
	}
}

func TestLearningTwiceIsLearningOnce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		count := rapid.IntRange(0, 500)
		from := raising.Rate{Share: rapid.Float64Range(0.01, 1).Draw(t, "default"), Source: "from memory"}
		a, b := count.Draw(t, "tried"), count.Draw(t, "tried later")
		x, y := rapid.IntRange(0, a).Draw(t, "came"), rapid.IntRange(0, b).Draw(t, "came later")
		twice, once := raising.Learn(raising.Learn(from, a, x), b, y), raising.Learn(from, a+b, x+y)
		require.InDelta(t, once.Share, twice.Share, 1e-9)
		require.Equal(t, once.Counts, twice.Counts)
		require.True(t, once.Share > 0 && once.Share <= 1)
	})
}

func TestLearnShoots(t *testing.T) {
	t.Parallel()
	got := raising.LearnShoots(raising.Rates{}.OrDefault().Shoots, 5, 80)
	require.InDelta(t, 13, got.Mean, 1e-12)
	require.Equal(t, "13 a stool, from 5 counted and a default (common practice) worth 5", got.Basis())
}

func TestBasis(t *testing.T) {
	t.Parallel()
	strike := raising.Rates{}.OrDefault().Strike
	require.Equal(t, "90 %, from memory", strike.Basis())
	require.Equal(t, "92 %, from 5 counted and a default (from memory) worth 20", raising.Learn(strike, 5, 5).Basis())
}
