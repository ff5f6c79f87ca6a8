package crop_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/place"
)

func TestRootAfter(t *testing.T) {
	t.Parallel()
	dublin := place.Place{Point: place.Point{Lat: 53.1, Lon: -6.7}, Zone: "Europe/Dublin", Exact: true}
	heated := dublin
	heated.BottomHeat = true
	for _, c := range []struct {
		name string
		at   place.Place
		on   calendar.Day
		days [3]int
	}{
		{"bottom heat, gardenadvice.co.uk", heated, calendar.DayOf(2027, 1, 10), [3]int{10, 13, 16}},
		{"low light, J. Peace", dublin, calendar.DayOf(2027, 1, 10), [3]int{21, 25, 28}},
		{"spring, The Oregonian", dublin, calendar.DayOf(2027, 4, 10), [3]int{18, 21, 25}},
		{"a place not known", place.Place{}, calendar.DayOf(2027, 1, 10), [3]int{18, 21, 25}},
	} {
		w := crop.RootAfter(calendar.On(c.on), c.at).Window
		require.Equal(t, c.days, [3]int{w.Earliest.Sub(c.on), w.Likely.Sub(c.on), w.Latest.Sub(c.on)}, c.name)
	}
}
