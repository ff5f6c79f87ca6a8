package calendar_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
)

func zoneOf(t require.TestingT, name string) *time.Location {
	zone, err := time.LoadLocation(name)
	require.NoError(t, err)
	return zone
}

func TestAnInstantIsToldByBothClocks(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ at, told, reader, want string }{
		{"2026-03-14T10:00:00Z", "Europe/Dublin", "Europe/Dublin", "Sat 14 Mar 2026, 10:00"},
		{"2026-03-14T10:00:00Z", "Europe/Dublin", "Europe/London", "Sat 14 Mar 2026, 10:00"}, // both show it
		{"2026-03-14T10:00:00Z", "Europe/Dublin", "", "Sat 14 Mar 2026, 10:00 in Europe/Dublin"},
		{"2026-03-14T10:00:00Z", "Europe/Dublin", "Europe/Berlin", "Sat 14 Mar 2026, 10:00 in Europe/Dublin, which is 11:00 in Europe/Berlin"},
		{"2026-03-14T10:00:00Z", "Europe/Dublin", "Pacific/Auckland", "Sat 14 Mar 2026, 10:00 in Europe/Dublin, which is 23:00 in Pacific/Auckland"},
		{"2026-03-14T18:30:00Z", "Europe/Dublin", "Pacific/Auckland", "Sat 14 Mar 2026, 18:30 in Europe/Dublin, which is Sun 15 Mar 2026, 07:30 in Pacific/Auckland"},
		{"2026-03-14T10:00:00Z", "Europe/Dublin", "America/Denver", "Sat 14 Mar 2026, 10:00 in Europe/Dublin, which is 04:00 in America/Denver"},
		{"2026-10-25T00:30:00Z", "Europe/Dublin", "Europe/Dublin", "Sun 25 Oct 2026, 01:30 (the first of two)"},
		{"2026-10-25T01:30:00Z", "Europe/Dublin", "Europe/Dublin", "Sun 25 Oct 2026, 01:30 (the second of two)"},
		{"2026-10-25T01:30:00Z", "America/New_York", "Europe/Berlin", "Sat 24 Oct 2026, 21:30 in America/New_York, which is Sun 25 Oct 2026, 02:30 (the second of two) in Europe/Berlin"},
		{"2026-03-29T01:00:00Z", "Europe/Dublin", "Europe/Dublin", "Sun 29 Mar 2026, 02:00"},
		{"2026-10-03T15:30:00Z", "Australia/Lord_Howe", "Australia/Lord_Howe", "Sun 4 Oct 2026, 02:30"},
		{"2026-04-04T15:15:00Z", "Australia/Lord_Howe", "Australia/Lord_Howe", "Sun 5 Apr 2026, 01:45 (the second of two)"},
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		require.NoError(t, err)
		i := calendar.Instant{At: at.In(zoneOf(t, c.told))}
		if c.reader != "" {
			i.Reader = zoneOf(t, c.reader)
		}
		require.Equal(t, c.want, i.String())
	}
}

// Two instants of one zone that show the same clock are each other's twins, and are told apart.
func TestTwins(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		zone := zoneOf(t, rapid.SampledFrom([]string{"Europe/Dublin", "America/St_Johns", "Australia/Lord_Howe", "Africa/Casablanca", "Asia/Gaza", "Pacific/Apia", "UTC"}).Draw(t, "zone"))
		from := time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC).Unix()
		at := time.Unix(from+rapid.Int64Range(0, 40*366*86400).Draw(t, "at"), 0).In(zone)
		if _, end := at.ZoneBounds(); !end.IsZero() && rapid.Bool().Draw(t, "near a change") {
			at = end.Add(time.Duration(rapid.IntRange(-7200, 7200).Draw(t, "off")) * time.Second)
		}
		other, twice := calendar.Twin(at)
		struck, ok := calendar.At(calendar.DayAt(at), at.Hour(), at.Minute(), zone)
		require.True(t, ok)
		require.Equal(t, !twice || at.Before(other), struck.Equal(at.Add(-time.Duration(at.Second())*time.Second)), "of an hour that comes twice the first is struck")
		if !twice {
			return
		}
		require.Equal(t, at.Format(time.DateTime), other.Format(time.DateTime))
		require.False(t, at.Equal(other))
		back, again := calendar.Twin(other)
		require.True(t, again)
		require.True(t, back.Equal(at))
		require.NotEqual(t, calendar.Instant{At: at, Reader: zone}.String(), calendar.Instant{At: other, Reader: zone}.String())
	})
}
