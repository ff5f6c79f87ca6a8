package calendar_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
)

var anyDay = rapid.Custom(func(t *rapid.T) calendar.Day {
	return calendar.DayOf(1900, time.January, 1).Add(rapid.IntRange(0, 300*365).Draw(t, "day"))
})

func TestDayIsADate(t *testing.T) {
	t.Parallel()
	for text, weekday := range map[string]time.Weekday{
		"1900-01-01": time.Monday, "2000-02-29": time.Tuesday, "2027-11-05": time.Friday, "2028-02-29": time.Tuesday, "2100-03-01": time.Monday,
	} {
		require.Equal(t, weekday, day(t, text).Weekday())
		require.Equal(t, text, day(t, text).String())
	}
	require.Equal(t, "Fri 5 Nov 2027", day(t, "2027-11-05").Long())
	require.Equal(t, day(t, "2028-02-29"), day(t, "2028-02-28").Add(1))
	require.Equal(t, 366, day(t, "2029-01-01").Sub(day(t, "2028-01-01")))
	for _, text := range []string{"0001-01-01", "0000-05-05", "2027-02-29", "2027-2-3", "5 nov", ""} {
		_, err := calendar.ParseDay(text)
		require.Error(t, err, text)
	}
	rapid.Check(t, func(t *rapid.T) {
		d := anyDay.Draw(t, "day")
		require.Equal(t, d, calendar.DayOf(d.Date()))
		require.Equal(t, d, calendar.DayAt(d.UTC()))
		require.Equal(t, d.UTC().Weekday(), d.Weekday())
		text, err := json.Marshal(d)
		require.NoError(t, err)
		var read calendar.Day
		require.NoError(t, json.Unmarshal(text, &read))
		require.Equal(t, d, read)
	})
}

// The day is that of the clock at the place, whatever the day in UTC.
func TestDayAt(t *testing.T) {
	t.Parallel()
	instant := time.Date(2027, time.November, 5, 12, 0, 0, 0, time.UTC)
	require.Equal(t, "2027-11-06", calendar.DayAt(instant.In(zone(t, "Pacific/Auckland"))).String())
	require.Equal(t, "2027-11-05", calendar.DayAt(instant.In(zone(t, "America/Denver"))).String())
}

func TestAnnual(t *testing.T) {
	t.Parallel()
	leap, newYear := calendar.Annual{Month: time.February, Day: 29}, calendar.Annual{Month: time.January, Day: 1}
	require.Equal(t, "2028-02-29", leap.In(2028).String())
	require.Equal(t, "2027-02-28", leap.In(2027).String())
	require.Equal(t, "2028-01-01", newYear.Nearest(day(t, "2027-12-20")).String())
	require.Equal(t, "2027-01-01", newYear.Nearest(day(t, "2027-06-20")).String())
	require.Equal(t, "29 Feb", leap.String())
	require.Zero(t, calendar.Annual{}.In(2027))
	require.Zero(t, calendar.Annual{}.Nearest(today))
	rapid.Check(t, func(t *rapid.T) {
		d := anyDay.Draw(t, "day")
		require.Equal(t, d, d.Annual().In(d.Year()))
		require.Equal(t, d, d.Annual().Nearest(d))
		text, err := d.Annual().MarshalText()
		require.NoError(t, err)
		var read calendar.Annual
		require.NoError(t, read.UnmarshalText(text))
		require.Equal(t, d.Annual(), read)
	})
	var read calendar.Annual
	require.NoError(t, read.UnmarshalText(nil))
	require.Zero(t, read)
	require.Error(t, read.UnmarshalText([]byte("02-30")))
}

func TestWindow(t *testing.T) {
	t.Parallel()
	known := calendar.On(day(t, "2028-02-28"))
	got := known.After(calendar.Span{Min: 1, Likely: 2, Max: 5})
	require.Equal(t, calendar.Window{Earliest: day(t, "2028-02-29"), Likely: day(t, "2028-03-01"), Latest: day(t, "2028-03-04")}, got)
	require.Equal(t, "Wed 1 Mar 2028 (29 Feb – 4 Mar)", got.String())
	require.Equal(t, "Mon 28 Feb 2028", known.String())
	// Distances of 3 and 4 days that vary independently add to 5.
	wide := calendar.On(today).After(calendar.Span{Min: 7, Likely: 10, Max: 13}).After(calendar.Span{Min: 6, Likely: 10, Max: 14})
	require.Equal(t, calendar.Window{Earliest: today + 15, Likely: today + 20, Latest: today + 25}, wide)
	require.Equal(t, calendar.Span{Min: 46, Likely: 49, Max: 53}, calendar.Weeks(6.5, 7, 7.5))
}

func TestWindowMoves(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		likely := anyDay.Draw(t, "likely")
		days := rapid.IntRange(0, 90)
		w := calendar.Window{Earliest: likely - calendar.Day(days.Draw(t, "early")), Likely: likely, Latest: likely + calendar.Day(days.Draw(t, "late"))}
		least := days.Draw(t, "least")
		span := calendar.Span{Min: least, Likely: least + days.Draw(t, "to likely")}
		span.Max = span.Likely + days.Draw(t, "to most")

		after, before := w.After(span), w.Before(span)
		for _, moved := range []calendar.Window{after, before, after.Before(span), before.After(span)} {
			require.True(t, moved.Earliest <= moved.Likely && moved.Likely <= moved.Latest)
			require.True(t, moved.Contains(moved.Likely))
			require.GreaterOrEqual(t, moved.Likely-moved.Earliest, w.Likely-w.Earliest, "doubt never shrinks")
			require.GreaterOrEqual(t, moved.Latest-moved.Likely, w.Latest-w.Likely)
		}
		require.Equal(t, w.Likely, after.Before(span).Likely)
		require.Equal(t, w.Likely, before.After(span).Likely)
		require.Equal(t, w, w.After(calendar.Days(10)).Before(calendar.Days(10)))
		require.Equal(t, w, w.Shift(7).Shift(-7))
		width := math.Hypot(float64(w.Likely-w.Earliest), float64(span.Likely-span.Min))
		require.InDelta(t, width, float64(after.Likely.Sub(after.Earliest)), 0.5)
	})
}
