package crop_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
)

func TestLookOver(t *testing.T) {
	t.Parallel()
	from := calendar.DayOf(2028, 2, 20) // across a leap day
	until := from.Add(24)
	for _, c := range []struct {
		last calendar.Day
		now  bool
		want calendar.Day
	}{
		{0, false, from.Add(7)}, {0, true, from}, {from, true, from.Add(7)}, {from.Add(9), false, from.Add(16)},
		{from.Add(20), false, until}, {from.Add(-3), true, from}, {until, false, 0}, {until.Add(1), true, 0},
	} {
		require.Equal(t, c.want, crop.LookOver(from, until, c.last, c.now).Next, "%d %t", c.last, c.now)
	}
}
