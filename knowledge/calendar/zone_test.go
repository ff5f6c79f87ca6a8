package calendar_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
)

// Changes as the IANA time zone database has them.
func TestAt(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		zone, day    string
		hour, minute int
		want         string // in UTC
	}{
		"plain":                             {"Europe/Dublin", "2027-07-01", 7, 0, "2027-07-01T06:00:00Z"},
		"Dublin skips 01:30":                {"Europe/Dublin", "2027-03-28", 1, 30, "2027-03-28T01:00:00Z"},
		"Dublin has 01:30 twice":            {"Europe/Dublin", "2027-10-31", 1, 30, "2027-10-31T00:30:00Z"},
		"New York skips 02:30":              {"America/New_York", "2027-03-14", 2, 30, "2027-03-14T07:00:00Z"},
		"New York, last minute before":      {"America/New_York", "2027-03-14", 1, 59, "2027-03-14T06:59:00Z"},
		"New York, first minute after":      {"America/New_York", "2027-03-14", 3, 0, "2027-03-14T07:00:00Z"},
		"New York has 01:30 twice":          {"America/New_York", "2027-11-07", 1, 30, "2027-11-07T05:30:00Z"},
		"Lord Howe skips half an hour":      {"Australia/Lord_Howe", "2027-10-03", 2, 15, "2027-10-02T15:30:00Z"},
		"Lord Howe has 01:45 twice":         {"Australia/Lord_Howe", "2027-04-04", 1, 45, "2027-04-03T14:45:00Z"},
		"Lord Howe has 01:15 once":          {"Australia/Lord_Howe", "2027-04-04", 1, 15, "2027-04-03T14:15:00Z"},
		"São Paulo skips midnight":          {"America/Sao_Paulo", "2018-11-04", 0, 0, "2018-11-04T03:00:00Z"},
		"São Paulo, 00:59 of that day":      {"America/Sao_Paulo", "2018-11-04", 0, 59, "2018-11-04T03:00:00Z"},
		"São Paulo has 23:30 twice":         {"America/Sao_Paulo", "2018-02-17", 23, 30, "2018-02-18T01:30:00Z"},
		"Casablanca, end of Ramadan":        {"Africa/Casablanca", "2026-03-22", 2, 30, "2026-03-22T02:00:00Z"},
		"Casablanca, beginning of Ramadan":  {"Africa/Casablanca", "2026-02-15", 2, 30, "2026-02-15T01:30:00Z"},
		"Kathmandu, quarter hours":          {"Asia/Kathmandu", "2027-01-01", 6, 0, "2027-01-01T00:15:00Z"},
		"Kathmandu skips 00:05 in 1986":     {"Asia/Kathmandu", "1986-01-01", 0, 5, "1985-12-31T18:30:00Z"},
		"Apia, the day before":              {"Pacific/Apia", "2011-12-29", 23, 59, "2011-12-30T09:59:00Z"},
		"Apia, the day after":               {"Pacific/Apia", "2011-12-31", 0, 0, "2011-12-30T10:00:00Z"},
		"Toronto skips over a midnight":     {"America/Toronto", "1919-03-30", 23, 45, "1919-03-31T04:30:00Z"},
		"Toronto, the other side of it":     {"America/Toronto", "1919-03-31", 0, 15, "1919-03-31T04:30:00Z"},
		"UTC":                               {"UTC", "2027-03-28", 1, 30, "2027-03-28T01:30:00Z"},
		"leap day":                          {"Europe/Dublin", "2028-02-29", 0, 0, "2028-02-29T00:00:00Z"},
		"before any change":                 {"Europe/Dublin", "1850-01-01", 12, 0, "1850-01-01T12:25:21Z"},
		"far beyond what the tables spell":  {"America/New_York", "2199-03-10", 2, 30, "2199-03-10T07:00:00Z"},
		"Auckland skips 02:30 in September": {"Pacific/Auckland", "2027-09-26", 2, 30, "2027-09-25T14:00:00Z"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, ok := calendar.At(day(t, c.day), c.hour, c.minute, zone(t, c.zone))
			require.True(t, ok)
			require.Equal(t, c.want, got.UTC().Format(time.RFC3339))
		})
	}
}

func TestAtOnADayThatNeverWas(t *testing.T) {
	t.Parallel()
	for _, hour := range []int{0, 7, 12, 23} {
		got, ok := calendar.At(day(t, "2011-12-30"), hour, 30, zone(t, "Pacific/Apia"))
		require.False(t, ok)
		require.Equal(t, "2011-12-30T10:00:00Z", got.UTC().Format(time.RFC3339))
	}
}

// A day's hours strike in order, each shows its clock or is the change that skipped it, and no earlier instant shows it.
func TestAtStrikesInOrder(t *testing.T) {
	t.Parallel()
	zones := []string{"Europe/Dublin", "America/New_York", "Australia/Lord_Howe", "America/Sao_Paulo", "Africa/Casablanca",
		"Asia/Kathmandu", "Pacific/Apia", "Asia/Gaza", "America/Nuuk", "Africa/Cairo", "Antarctica/Troll"}
	rapid.Check(t, func(rt *rapid.T) {
		at := zone(t, rapid.SampledFrom(zones).Draw(rt, "zone"))
		d := calendar.DayOf(rapid.IntRange(1970, 2100).Draw(rt, "year"), time.January, 1).Add(rapid.IntRange(0, 365).Draw(rt, "day"))
		var last time.Time
		for minute := 0; minute < 24*60; minute += 15 {
			got, ok := calendar.At(d, minute/60, minute%60, at)
			if !ok {
				require.NotEqual(rt, d, calendar.DayAt(got))
				continue
			}
			require.False(rt, got.Before(last), "%s %02d:%02d", d, minute/60, minute%60)
			last = got
			clock := got.Hour()*60 + got.Minute()
			if calendar.DayAt(got) != d || clock != minute {
				_, before := got.Add(-1).Zone()
				_, after := got.Zone()
				require.Greater(rt, after, before, "only a change forward skips hours")
			}
			for _, earlier := range []time.Duration{30 * time.Minute, time.Hour, 2 * time.Hour} {
				e := got.Add(-earlier)
				require.False(rt, calendar.DayAt(e) == d && e.Hour()*60+e.Minute() == minute, "%s comes earlier", got)
			}
		}
	})
}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	at, err := time.LoadLocation(name)
	require.NoError(t, err)
	return at
}

func day(t *testing.T, text string) calendar.Day {
	t.Helper()
	d, err := calendar.ParseDay(text)
	require.NoError(t, err)
	return d
}
