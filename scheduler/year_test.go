package scheduler_test

import (
	"context"
	"flag"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/scheduler"
)

var years = flag.Bool("years", false, "strike whole years, a minute at a time, where otherwise weeks with a clock change do")

// down is a time in which no process ran.
type down struct{ from, to time.Time }

// TestTheYear strikes and enqueues on a real register, over restarts at random instants: every stroke of every day
// leads to one notice, and those that fell due while nothing ran lead to one together.
func TestTheYear(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		year     int
		from, to string // the weeks that do where years are not asked for
		zones    []string
	}{
		"2011": {2011, "2011-12-20T00:00:00Z", "2012-01-04T00:00:00Z", []string{"Pacific/Apia"}},
		"2018": {2018, "2018-10-29T00:00:00Z", "2018-11-10T00:00:00Z", []string{"America/Sao_Paulo"}},
		"2027": {2027, "2027-10-28T00:00:00Z", "2027-11-10T00:00:00Z",
			[]string{"Europe/Dublin", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca", "Asia/Kathmandu"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			from, to := instant(t, tt.from), instant(t, tt.to)
			if *years {
				from = time.Date(tt.year, 1, 1, 0, 0, 0, 0, time.UTC)
				to = from.AddDate(1, 0, 3) // Apia's day that never was is the last but one of its year
			}
			synctest.Test(t, func(t *testing.T) { strikeAll(t, tt.zones, from, to) })
		})
	}
}

func strikeAll(t *testing.T, zones []string, from, to time.Time) {
	seed := uint64(from.Unix())
	random := rand.New(rand.NewPCG(seed, seed))
	time.Sleep(time.Until(from))
	s := newStage(t, time.Now)
	times := map[int64]scheduler.Times{}
	for _, name := range zones {
		// 02:20 is skipped and doubled in most of them; 23:30 lies at the other side of a day's end from UTC.
		for _, rule := range []string{"07:00", "02:20", "00:00", "23:30", "weekdays 06:15"} {
			seat := s.coop(name+" "+rule, name, rule)
			times[seat.Coop.ID] = read(t, rule, zone(t, name))
		}
	}
	var downs []down
	striking, err := scheduler.StartEnqueuing(context.Background(), s.config())
	require.NoError(t, err)
	for time.Now().Before(to) {
		time.Sleep(time.Duration(random.Int64N(int64(8 * 24 * time.Hour))))
		require.NoError(t, striking.Health(t.Context()))
		require.NoError(t, striking.Stop())
		stopped := time.Now()
		away := time.Duration(random.Int64N(int64(2 * time.Minute)))
		if random.IntN(3) == 0 {
			away = time.Duration(random.Int64N(int64(4 * 24 * time.Hour)))
		}
		time.Sleep(away)
		downs = append(downs, down{stopped, time.Now()})
		striking, err = scheduler.StartEnqueuing(context.Background(), s.config())
		require.NoError(t, err)
	}
	time.Sleep(time.Minute)
	end := time.Now()
	enqueued, err := striking.Enqueued(t.Context())
	require.NoError(t, err)
	require.NoError(t, striking.Stop())
	got := map[int64][]calendar.Day{}
	for _, e := range enqueued {
		got[e.Coop] = append(got[e.Coop], e.Day)
	}
	for coop, rule := range times {
		require.Equal(t, expected(rule, from, end, downs), got[coop], "%s", rule)
	}
}

// expected gives the days on which a notice is due: of those struck in one time of downtime only the last.
func expected(times scheduler.Times, from, to time.Time, downs []down) (days []calendar.Day) {
	in := func(at time.Time) int {
		for i, d := range downs {
			if at.After(d.from) && !at.After(d.to) {
				return i
			}
		}
		return -1
	}
	for s := times.Next(from); !s.At.After(to); s = times.Next(s.At) {
		next := in(times.Next(s.At).At)
		if at := in(s.At); at < 0 || at != next {
			days = append(days, s.Day)
		}
	}
	return days
}

// TestTheFortnight strikes and tells through the real River client, which is started a minute before each stroke and
// stopped a minute after: each notice is told once.
func TestTheFortnight(t *testing.T) {
	t.Parallel()
	for name, from := range map[string]string{
		"Pacific/Apia": "2011-12-22T00:00:00Z", "America/Sao_Paulo": "2018-10-29T00:00:00Z", "Europe/Dublin": "2027-10-24T00:00:00Z",
		"America/New_York": "2027-11-01T00:00:00Z", "Australia/Lord_Howe": "2027-09-27T00:00:00Z",
		"Africa/Casablanca": "2027-02-01T00:00:00Z", "Asia/Kathmandu": "2027-03-01T00:00:00Z",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if raced {
				t.Skip("without the race detector")
			}
			synctest.Test(t, func(t *testing.T) { tellAll(t, name, instant(t, from)) })
		})
	}
}

func tellAll(t *testing.T, name string, from time.Time) {
	time.Sleep(time.Until(from))
	s := newStage(t, time.Now)
	s.coop("Quay", name, "02:20")
	s.coop("Mill", name, "02:20")
	times := read(t, "02:20", zone(t, name))
	var want []string
	for stroke := times.Next(from); stroke.At.Before(from.Add(14 * 24 * time.Hour)); stroke = times.Next(stroke.At) {
		time.Sleep(time.Until(stroke.At.Add(-time.Minute)))
		striking := s.start()
		time.Sleep(2 * time.Minute)
		require.NoError(t, striking.Health(t.Context()))
		require.NoError(t, striking.Stop())
		want = append(want, "Mill "+stroke.Day.String(), "Quay "+stroke.Day.String())
	}
	require.GreaterOrEqual(t, len(want), 2*13)
	got := s.days()
	for i := 0; i+1 < len(got); i += 2 {
		slices.Sort(got[i : i+2])
	}
	require.Equal(t, want, got)
}
