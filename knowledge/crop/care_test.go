package crop_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/daylight"
	"shortday/knowledge/place"
)

var (
	north   = place.Point{Lat: 52}
	south   = place.Point{Lat: -43.5}
	equator = place.Point{}
)

func never(crop.Kind) calendar.Day { return 0 }

func given(kind crop.Kind, on string) func(crop.Kind) calendar.Day {
	return func(k crop.Kind) calendar.Day {
		if k == kind {
			return day(on)
		}
		return 0
	}
}

func careOf(t require.TestingT, kind crop.Kind, stage crop.Stage, since string, at place.Point, today string, last func(crop.Kind) calendar.Day) crop.Care {
	for _, c := range crop.CareOf(stage, day(since), at, day(today), last) {
		if c.Kind == kind {
			return c
		}
	}
	require.Fail(t, "no such care")
	return crop.Care{}
}

// Small pots in early spring about twice a week, final pots in summer daily (Evergreen Chrysanthemum Association); planted
// out and watered in, none for about a week (houseplantsguru.com).
func TestWateringFollowsTheSeasonOfThePlace(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		stage crop.Stage
		at    place.Point
		since string
		given string
		next  string
		every int
	}{
		{crop.Potted, north, "2027-03-10", "", "2027-03-13", 3},
		{crop.Potted, north, "2027-03-10", "2027-04-10", "2027-04-13", 3},
		{crop.Potted, north, "2027-03-10", "2027-07-10", "2027-07-11", 1},
		{crop.Potted, north, "2027-03-10", "2027-10-10", "2027-10-13", 3},
		{crop.Potted, north, "2027-03-10", "2027-12-10", "2027-12-17", 7},
		{crop.Potted, north, "2027-03-10", "2027-05-30", "2027-06-01", 1}, // summer begins
		{crop.Potted, north, "2027-03-10", "2028-02-26", "2028-03-01", 3}, // over a leap day, winter ends
		{crop.Potted, south, "2027-03-10", "2027-12-10", "2027-12-11", 1},
		{crop.Potted, south, "2027-03-10", "2027-07-10", "2027-07-17", 7},
		{crop.Planted, north, "2027-05-20", "", "2027-05-27", 3},
		{crop.Planted, north, "2027-06-10", "", "2027-06-17", 1},
		{crop.Planted, north, "2027-06-10", "2027-06-11", "2027-06-17", 1},
		{crop.Planted, south, "2027-11-10", "2027-12-10", "2027-12-11", 1},
		{crop.Woken, north, "2027-01-10", "", "2027-01-13", 3},
		{crop.Housed, north, "2027-10-01", "2027-12-10", "2027-12-13", 3},
	} {
		last := never
		if c.given != "" {
			last = given(crop.Water, c.given)
		}
		care := careOf(t, crop.Water, c.stage, c.since, c.at, c.since, last)
		require.Equal(t, c.next, care.Next.String(), "%v", c)
		require.Equal(t, c.every, care.Every(care.Next), "%v", c)
	}
	require.Contains(t, careOf(t, crop.Water, crop.Housed, "2027-10-01", north, "2027-10-01", never).Rule, "mornings only")
}

func TestFeeding(t *testing.T) {
	t.Parallel()
	next := func(since, today string, at place.Point, last func(crop.Kind) calendar.Day) calendar.Day {
		return careOf(t, crop.Feed, crop.Potted, since, at, today, last).Next
	}
	feed := func(since, today string, at place.Point, last func(crop.Kind) calendar.Day) string {
		return next(since, today, at, last).String()
	}
	require.Equal(t, "2027-03-22", feed("2027-03-01", "2027-03-01", north, never), "about 3 weeks after potting")
	require.Equal(t, "2027-06-08", feed("2027-03-01", "2027-03-01", north, given(crop.Feed, "2027-06-01")), "weekly")
	require.Equal(t, "2027-12-08", feed("2027-03-01", "2027-03-01", equator, given(crop.Feed, "2027-12-01")), "where it is never dark")
	for _, last := range []string{"2027-10-29", "2027-11-20", "2027-12-25"} {
		spring := next("2027-03-01", "2027-03-01", north, given(crop.Feed, last))
		require.Greater(t, daylight.Hours(north, spring, daylight.Sunrise), 9.5)
		require.Less(t, daylight.Hours(north, spring.Add(-1), daylight.Sunrise), 9.5, "not in the dark months")
	}
	require.Equal(t, "2028-02", feed("2027-03-01", "2027-12-01", north, given(crop.Feed, "2027-10-01"))[:7], "what was left over waits for the light too")
	far := place.Point{Lat: 65}
	due := next("2027-01-01", "2027-02-25", far, never)
	require.Greater(t, daylight.Hours(far, due, daylight.Sunrise), 9.5, "due in the dark, it came with the light that is there by now")
	require.LessOrEqual(t, due, day("2027-02-25"))
	require.Equal(t, "2027-07", feed("2027-03-01", "2027-06-10", south, given(crop.Feed, "2027-06-10"))[:7])
	require.Len(t, crop.CareOf(crop.Planted, day("2027-03-01"), north, day("2027-09-02"), given(crop.BudColour, "2027-09-01")), 1, "feeding stops when colour shows")
}

func TestCareFollowsTheStage(t *testing.T) {
	t.Parallel()
	require.Equal(t, "2027-03-22", careOf(t, crop.CheckStore, crop.Boxed, "2027-03-01", north, "2027-03-01", never).Next.String(), "about every three weeks, common practice")
	require.Empty(t, crop.CareOf(crop.Taken, day("2027-03-01"), north, day("2027-03-01"), never))
}

// Whatever the place, care falls on its next day, never before it, and is never left longer than two of its rounds while
// it does not rest.
func TestCareComesAgain(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := place.Point{Lat: rapid.Float64Range(-65, 65).Draw(t, "latitude")}
		stage := rapid.SampledFrom([]crop.Stage{crop.Boxed, crop.Woken, crop.Potted, crop.Planted, crop.Housed}).Draw(t, "stage")
		since := calendar.DayOf(2027, time.January, 1).Add(rapid.IntRange(0, 800).Draw(t, "since"))
		today := since.Add(rapid.IntRange(0, 300).Draw(t, "today"))
		for _, c := range crop.CareOf(stage, since, at, today, never) {
			require.Greater(t, c.Next, since)
			gap := 0
			for d := since; d <= c.Next.Add(400); d++ {
				dark := c.Kind == crop.Feed && daylight.Hours(at, d, daylight.Sunrise) < 9.5
				switch {
				case d < c.Next:
					require.False(t, c.Falls(d))
				case c.Falls(d):
					require.False(t, dark)
					gap = 0
				case dark:
					gap = 0
				default:
					gap++
					require.Less(t, gap, 2*max(c.Every(d), c.Every(d.Add(-7))))
				}
			}
			require.True(t, c.Falls(c.Next))
		}
	})
}
