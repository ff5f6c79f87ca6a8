package requests_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func (b bench) number(typed string, key string) int {
	b.Helper()
	n, err := strconv.Atoi(b.cell(b.ask("%s", typed), 0, key))
	require.NoError(b, err)
	return n
}

// 40 rooted cuttings wanted at a 90 % strike with 95 % certainty take 48 (the binomial law itself).
func TestRaiseByTheBinomialLaw(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	require.Equal(t, 48, b.number("/raise stems stems:40 kept:1 strike:90 grow:100 market:100", "cuttings"))
	require.Equal(t, 40, b.number("/raise stems stems:40 kept:1 strike:90 grow:100 market:100", "plants"))
}

// What is raised for some stems can be counted on for them, and more certainty never takes fewer stools.
func TestRaisingAndGivingAgree(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	rapid.Check(t, func(t *rapid.T) {
		stems := strconv.Itoa(rapid.IntRange(1, 900).Draw(t, "stems"))
		last := 0
		for _, certainty := range []string{"60", "95", "99.5"} {
			with := " kept:3 certainty:" + certainty
			stools := b.number("/raise stems stems:"+stems+with, "stools")
			require.GreaterOrEqual(t, stools, last)
			last = stools
			wanted, err := strconv.Atoi(stems)
			require.NoError(t, err)
			require.GreaterOrEqual(t, b.number("/raise cuttings stools:"+strconv.Itoa(stools)+with, "stems"), wanted)
		}
	})
}

// The stools that are kept back are never raised from.
func TestKeptStoolsAreNotSpare(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	b.ask(`/variety add name:Saltmarsh like:"late spray"`)
	b.ask("/stock add variety:Saltmarsh count:8 stage:boxed")
	require.Equal(t, 5, b.number("/raise cuttings variety:Saltmarsh", "stools"))
	b.ask("/stock count batch:27-1 number:3 died:yes")
	none := b.ask("/raise cuttings variety:Saltmarsh")
	require.Empty(t, none.Rows.Rows)
	require.Contains(t, none.Text, "None are left to raise from")
}

// A label holds to three lines of 24 letters, whatever the name.
func TestLabelsFit(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	names := []string{"Gilt", "Quiet Lantern of the Far Long Meadow", strings.Repeat("ß", 60), strings.Repeat("Wide ", 12), "菊" + strings.Repeat("花", 50)}
	for i, name := range names {
		b.ask("/variety add name:%q season:late", strings.TrimSpace(name))
		b.ask("/stock add variety:%q count:2 stage:potted", strings.TrimSpace(name))
		text := b.ask("/stock label batch:27-%d", i+1).Text
		lines := strings.Split(strings.SplitN(text, "\n\n", 2)[0], "\n")
		require.LessOrEqual(t, len(lines), 3, name)
		for _, line := range lines {
			require.LessOrEqual(t, len([]rune(line)), 24, line)
			require.NotEmpty(t, line)
		}
	}
}
