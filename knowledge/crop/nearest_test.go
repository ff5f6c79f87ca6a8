package crop_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
)

// Between two seasons the next one is nearer than the one after it, and the one behind is named no more.
func TestNearestBetweenSeasons(t *testing.T) {
	t.Parallel()
	today := day("2027-02-02")
	c := crop.Case{Variety: section(19), Place: at(53.3, -8.9), Wanted: crop.Target{From: day("2027-02-05"), To: day("2027-02-05")}}
	refusal := crop.Backwards(c, today).Refusal
	require.Contains(t, refusal.Why, "season is over")
	near, ok := crop.Nearest(c, today)
	require.True(t, ok)
	require.Equal(t, refusal.Nearest, near.From)
	require.Equal(t, 2027, near.From.Year())
	c.Wanted = crop.Target{From: near.From.Add(-8), To: near.From.Add(-8)}
	require.NotNil(t, crop.Backwards(c, today).Refusal, "no day before it works")
}

func TestFirstAhead(t *testing.T) {
	t.Parallel()
	c := crop.Case{Variety: section(9), Place: at(52, 0), Wanted: crop.Target{From: day("2028-03-01"), To: day("2028-03-03")}}
	first, ok := crop.First(c, 365, day("2027-09-20"))
	require.True(t, ok)
	require.Equal(t, 2, first.To.Sub(first.From))
	c.Wanted = crop.Target{From: first.From.Add(-1), To: first.To.Add(-1)}
	plan := crop.Backwards(c, day("2027-09-20"))
	require.True(t, plan.Refusal != nil || plan.Missed != "" || plan.Bloom.Window.Likely > c.Wanted.To, "the first")
	_, ok = crop.First(c, 1, day("2027-09-20"))
	require.False(t, ok)
}
