package scheduler_test

import (
	"fmt"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/scheduler"
)

var zones = []string{
	"Europe/Dublin", "America/New_York", "Australia/Lord_Howe", "America/Sao_Paulo", "Africa/Casablanca",
	"Asia/Kathmandu", "Pacific/Apia",
}

// Clock changes by the IANA time zone database.
func TestNextOverClockChanges(t *testing.T) {
	t.Parallel()
	tests := map[string]struct {
		zone, text, after string
		want              []string
	}{
		"Dublin, an hour that does not exist": {"Europe/Dublin", "01:30", "2027-03-27T01:30:00Z", []string{
			"2027-03-28 2027-03-28T02:00:00+01:00", "2027-03-29 2027-03-29T01:30:00+01:00"}},
		"Dublin, an hour that comes twice": {"Europe/Dublin", "01:30", "2027-10-30T01:30:00+01:00", []string{
			"2027-10-31 2027-10-31T01:30:00+01:00", "2027-11-01 2027-11-01T01:30:00Z"}},
		"Dublin, between the two": {"Europe/Dublin", "01:30", "2027-10-31T01:10:00Z", []string{
			"2027-11-01 2027-11-01T01:30:00Z"}},
		"Dublin, the hour of the change itself": {"Europe/Dublin", "01:00", "2027-10-30T12:00:00+01:00", []string{
			"2027-10-31 2027-10-31T01:00:00+01:00", "2027-11-01 2027-11-01T01:00:00Z"}},
		"New York, an hour that does not exist": {"America/New_York", "2:15am", "2027-03-13T12:00:00-05:00", []string{
			"2027-03-14 2027-03-14T03:00:00-04:00", "2027-03-15 2027-03-15T02:15:00-04:00"}},
		"New York, an hour that comes twice": {"America/New_York", "1am", "2027-11-06T12:00:00-04:00", []string{
			"2027-11-07 2027-11-07T01:00:00-04:00", "2027-11-08 2027-11-08T01:00:00-05:00"}},
		"Lord Howe, half an hour that does not exist": {"Australia/Lord_Howe", "02:20", "2027-10-02T12:00:00+10:30", []string{
			"2027-10-03 2027-10-03T02:30:00+11:00", "2027-10-04 2027-10-04T02:20:00+11:00"}},
		"Lord Howe, half an hour that comes twice": {"Australia/Lord_Howe", "01:45", "2027-04-03T12:00:00+11:00", []string{
			"2027-04-04 2027-04-04T01:45:00+11:00", "2027-04-05 2027-04-05T01:45:00+10:30"}},
		"São Paulo, a midnight that does not exist": {"America/Sao_Paulo", "00:00", "2018-11-03T12:00:00-03:00", []string{
			"2018-11-04 2018-11-04T01:00:00-02:00", "2018-11-05 2018-11-05T00:00:00-02:00"}},
		"São Paulo, an evening that comes twice": {"America/Sao_Paulo", "23:30", "2018-02-17T12:00:00-02:00", []string{
			"2018-02-17 2018-02-17T23:30:00-02:00", "2018-02-18 2018-02-18T23:30:00-03:00"}},
		"Casablanca, Ramadan begins": {"Africa/Casablanca", "02:30", "2027-02-06T12:00:00+01:00", []string{
			"2027-02-07 2027-02-07T02:30:00+01:00", "2027-02-08 2027-02-08T02:30:00Z"}},
		"Casablanca, Ramadan is over": {"Africa/Casablanca", "sun 02:30", "2027-03-13T12:00:00Z", []string{
			"2027-03-14 2027-03-14T03:00:00+01:00", "2027-03-21 2027-03-21T02:30:00+01:00"}},
		"Kathmandu, the quarter that 1986 began with": {"Asia/Kathmandu", "00:05", "1985-12-31T12:00:00+05:30", []string{
			"1986-01-01 1986-01-01T00:15:00+05:45", "1986-01-02 1986-01-02T00:05:00+05:45"}},
		"Kathmandu, whose clocks stand": {"Asia/Kathmandu", "7", "2027-03-27T07:00:00+05:45", []string{
			"2027-03-28 2027-03-28T07:00:00+05:45"}},
		"Apia, a day that never was": {"Pacific/Apia", "07:00", "2011-12-28T12:00:00-10:00", []string{
			"2011-12-29 2011-12-29T07:00:00-10:00", "2011-12-31 2011-12-31T07:00:00+14:00"}},
		"Apia, the Friday that never was": {"Pacific/Apia", "fri 07:00", "2011-12-23T12:00:00-10:00", []string{
			"2012-01-06 2012-01-06T07:00:00+14:00"}},
		"Toronto, the end of a day that does not exist": {"America/Toronto", "23:45", "1919-03-29T23:45:00-05:00", []string{
			"1919-03-30 1919-03-31T00:30:00-04:00", "1919-03-31 1919-03-31T23:45:00-04:00"}},
		"29 February, eight years away": {"Europe/Dublin", "0 7 29 2 *", "2096-02-29T07:00:00Z", []string{
			"2104-02-29 2104-02-29T07:00:00Z"}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			times := read(t, tt.text, zone(t, tt.zone))
			after := instant(t, tt.after)
			for _, want := range tt.want {
				next := times.Next(after)
				require.Equal(t, want, show(next))
				require.Equal(t, next, times.Last(next.At))
				require.Equal(t, next, times.Last(times.Next(next.At).At.Add(-time.Second)))
				after = next.At
			}
		})
	}
}

// TestEveryHour walks the clock of each zone a quarter of an hour at a time, and strikes each hour when the clock first
// reaches or passes it on a day that it shows.
func TestEveryHour(t *testing.T) {
	t.Parallel()
	years := []int{1985, 2011, 2018, 2027}
	for _, name := range zones {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, year := range years {
				from := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
				want := walk(from, from.AddDate(2, 0, 0), zone(t, name))
				for hour := range scheduler.Hour(24 * 60) {
					if hour%15 != 0 {
						continue
					}
					require.Greater(t, len(want[hour]), 728)
					got := scheduler.Upcoming(read(t, hour.String(), zone(t, name)), 0, from, len(want[hour]))
					for i, stroke := range want[hour] {
						if stroke.Day != got[i].Day || !stroke.At.Equal(got[i].At) {
							require.Equal(t, show(stroke), show(got[i]), "%s from %d", hour, year)
						}
					}
				}
			}
		})
	}
}

// walk gives the strokes of every quarter of an hour in (from, to] by a zone's clock.
func walk(from, to time.Time, zone *time.Location) map[scheduler.Hour][]scheduler.Stroke {
	const day, quarter = 24 * 60, 15
	shown := func(at time.Time) int {
		return int(calendar.DayAt(at))*day + at.Hour()*60 + at.Minute()
	}
	strokes := map[scheduler.Hour][]scheduler.Stroke{}
	before := shown(from.In(zone))
	reached := before
	for at := from.In(zone).Add(quarter * time.Minute); !at.After(to); at = at.Add(quarter * time.Minute) {
		now := shown(at)
		for reached < now {
			reached += quarter
			if reached/day == before/day || reached/day == now/day {
				hour := scheduler.Hour(reached % day)
				strokes[hour] = append(strokes[hour], scheduler.Stroke{Day: calendar.Day(reached / day), At: at})
			}
		}
		before = now
	}
	return strokes
}

func TestNextIsLater(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		times := read(t, rules().Draw(t, "rule"), zone(t, rapid.SampledFrom(zones).Draw(t, "zone")))
		after := instants().Draw(t, "after")
		last, next := times.Last(after), times.Next(after)
		require.False(t, last.At.After(after))
		require.True(t, next.At.After(after))
		require.Greater(t, next.Day, last.Day)
		require.Equal(t, next, times.Next(last.At), "nothing lies between last and next")
		require.Equal(t, last, times.Last(next.At.Add(-time.Nanosecond)))
		require.Equal(t, []scheduler.Stroke{next, times.Next(next.At)}, scheduler.Upcoming(times, last.Day, after, 2))
		require.Equal(t, times.Next(next.At), scheduler.Upcoming(times, next.Day, after, 1)[0], "the day was struck")
	})
}

func TestTimesNeverStruck(t *testing.T) {
	t.Parallel()
	var never scheduler.Times
	now := instant(t, "2027-03-28T07:00:00Z")
	require.True(t, never.Next(now).IsZero())
	require.True(t, never.Last(now).IsZero())
	require.Empty(t, scheduler.Upcoming(never, 0, now, 3))
	owed, err := scheduler.Due(never, 0, now, now)
	require.NoError(t, err)
	require.True(t, owed.IsZero())
}

func BenchmarkNext(b *testing.B) {
	for name, text := range map[string]string{"daily": "07:00", "weekdays": "weekdays 07:00", "leap day": "0 7 29 2 *"} {
		b.Run(name, func(b *testing.B) {
			times := read(b, text, zone(b, "Europe/Dublin"))
			from := instant(b, "2027-03-27T12:00:00Z")
			b.ReportAllocs()
			for b.Loop() {
				times.Next(from)
			}
		})
	}
}

// rules gives texts of all three forms.
func rules() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.Custom(func(t *rapid.T) string { return hours().Draw(t, "hour").String() }),
		rapid.Custom(func(t *rapid.T) string {
			days := rapid.SampledFrom([]string{"mon,thu", "weekdays", "weekends", "sunday", "fri-mon"}).Draw(t, "days")
			return days + " " + hours().Draw(t, "hour").String()
		}),
		rapid.Custom(func(t *rapid.T) string {
			days := rapid.SampledFrom([]string{"1 * *", "29 2 *", "*/3 * *", "31 * *", "13 * fri", "* 9-11 sun"}).Draw(t, "days")
			hour := hours().Draw(t, "hour")
			return fmt.Sprintf("%d %d %s", hour%60, hour/60, days)
		}),
	)
}

func hours() *rapid.Generator[scheduler.Hour] {
	return rapid.Custom(func(t *rapid.T) scheduler.Hour { return scheduler.Hour(rapid.IntRange(0, 1439).Draw(t, "minutes")) })
}

// instants gives instants of 1980 to 2040.
func instants() *rapid.Generator[time.Time] {
	return rapid.Custom(func(t *rapid.T) time.Time {
		return time.Unix(rapid.Int64Range(315532800, 2208988800).Draw(t, "seconds"), 0)
	})
}

func read(t require.TestingT, text string, zone *time.Location) scheduler.Times {
	times, err := scheduler.ReadTimes(text, zone)
	require.NoError(t, err)
	return times
}

func zone(t require.TestingT, name string) *time.Location {
	loaded, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loaded
}

func instant(t require.TestingT, text string) time.Time {
	at, err := time.Parse(time.RFC3339, text)
	require.NoError(t, err)
	return at
}

func show(s scheduler.Stroke) string { return s.Day.String() + " " + s.At.Format(time.RFC3339) }
