package scheduler_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/scheduler"
)

func TestDue(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		text, last, now string
		want            string
		missed          []string
	}{
		"before the hour":             {"07:00", "2027-03-26", "2027-03-27T06:59:59Z", "", nil},
		"on the hour":                 {"07:00", "2027-03-26", "2027-03-27T07:00:00Z", "2027-03-27", nil},
		"struck today":                {"07:00", "2027-03-27", "2027-03-27T07:00:00Z", "", nil},
		"struck today, hour earlier":  {"06:00", "2027-03-27", "2027-03-27T07:00:00Z", "", nil},
		"struck today, hour later":    {"18:00", "2027-03-27", "2027-03-27T18:00:00Z", "", nil},
		"a night of downtime":         {"07:00", "2027-03-26", "2027-03-28T02:00:00Z", "2027-03-27", nil},
		"three days of downtime":      {"07:00", "2027-03-24", "2027-03-27T09:00:00Z", "2027-03-27", []string{"2027-03-25", "2027-03-26"}},
		"weekdays, over a weekend":    {"weekdays 07:00", "2027-03-25", "2027-03-29T06:00:00Z", "2027-03-29", []string{"2027-03-26"}},
		"none struck yet":             {"07:00", "", "2027-03-27T09:00:00Z", "2027-03-27", nil},
		"an hour that does not exist": {"01:30", "2027-03-27", "2027-03-28T01:00:00Z", "2027-03-28", nil},
		"second run of an hour":       {"01:30", "2027-10-31", "2027-10-31T01:30:00Z", "", nil},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			now := instant(t, tt.now)
			owed, err := scheduler.Due(read(t, tt.text, zone(t, "Europe/Dublin")), day(t, tt.last), now, now)
			require.NoError(t, err)
			require.Equal(t, tt.want, owed.Day.String())
			var missed []string
			for _, d := range owed.Missed {
				missed = append(missed, d.String())
			}
			require.Equal(t, tt.missed, missed)
		})
	}
}

func TestDueByAClockThatIsWrong(t *testing.T) {
	t.Parallel()
	times := read(t, "07:00", zone(t, "Europe/Dublin"))
	written := instant(t, "2027-07-01T09:30:00Z")
	owed, err := scheduler.Due(times, day(t, "1999-12-31"), written, instant(t, "2000-01-01T12:00:00Z").In(zone(t, "Europe/Dublin")))
	require.Zero(t, owed)
	require.Equal(t, fault.Later, fault.KindOf(err))
	require.EqualError(t, err, "The clock says 12:00:00 on Sat 1 Jan 2000, yet the register holds an entry of "+
		"10:30:00 on Thu 1 Jul 2027. No notice goes out until the clock is set right.")
}

func TestSettle(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		zone, old, last   string
		newZone, set, now string
		settled, due      string
	}{
		"first times, hour past": {
			"Europe/Dublin", "", "", "Europe/Dublin", "07:00", "2027-06-10T12:00:00+01:00", "2027-06-10", ""},
		"first times, hour to come": {
			"Europe/Dublin", "", "", "Europe/Dublin", "18:00", "2027-06-10T12:00:00+01:00", "2027-06-09", ""},
		"struck today, new hour past": {
			"Europe/Dublin", "07:00", "2027-06-10", "Europe/Dublin", "06:00", "2027-06-10T12:00:00+01:00", "2027-06-10", ""},
		"still owed today, new hour past": {
			"Europe/Dublin", "18:00", "2027-06-09", "Europe/Dublin", "07:00", "2027-06-10T12:00:00+01:00", "2027-06-09", "2027-06-10"},
		"not owed today, new hour past": { // 10 June 2027 is a Thursday
			"Europe/Dublin", "mon 07:00", "2027-06-07", "Europe/Dublin", "07:00", "2027-06-10T12:00:00+01:00", "2027-06-10", ""},
		"off for a year": {
			"Europe/Dublin", "", "2026-06-10", "Europe/Dublin", "07:00", "2027-06-10T12:00:00+01:00", "2027-06-10", ""},
		"changed while down": {
			"Europe/Dublin", "07:00", "2027-06-01", "Europe/Dublin", "08:00", "2027-06-10T12:00:00+01:00", "2027-06-01", "2027-06-10"},
		"east, where tomorrow's hour is past": {
			"Europe/Dublin", "07:00", "2027-06-10", "Pacific/Auckland", "07:00", "2027-06-10T22:00:00+01:00", "2027-06-10", "2027-06-11"},
		"west, where it is yesterday": {
			"Pacific/Auckland", "07:00", "2027-06-11", "Pacific/Honolulu", "07:00", "2027-06-11T08:00:00+12:00", "2027-06-11", ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var old scheduler.Times
			if tt.old != "" {
				old = read(t, tt.old, zone(t, tt.zone))
			}
			set := read(t, tt.set, zone(t, tt.newZone))
			now := instant(t, tt.now)
			settled := scheduler.Settle(old, set, day(t, tt.last), now)
			require.Equal(t, tt.settled, settled.String())
			owed, err := scheduler.Due(set, settled, now, now)
			require.NoError(t, err)
			require.Equal(t, tt.due, owed.Day.String())
		})
	}
}

// TestDueOverRestarts looks at random instants, down for up to two months at a time: what was struck, with what it says
// was missed, is every stroke of the time once.
func TestDueOverRestarts(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		times := read(t, rules().Draw(t, "rule"), zone(t, rapid.SampledFrom(zones).Draw(t, "zone")))
		start := instants().Draw(t, "start")
		last, now := times.Last(start).Day, start
		var struck []calendar.Day
		for _, gap := range gaps().Draw(t, "gaps") {
			before := now
			now = now.Add(gap)
			owed, err := scheduler.Due(times, last, before, now)
			require.NoError(t, err)
			if owed.IsZero() {
				continue
			}
			require.False(t, owed.At.After(now))
			struck = append(append(struck, owed.Missed...), owed.Day)
			last = owed.Day
		}
		var want []calendar.Day
		for s := times.Next(start); !s.At.After(now); s = times.Next(s.At) {
			want = append(want, s.Day)
		}
		require.Equal(t, want, struck)
	})
}

// TestDueOverMoves gives a co-op that is struck daily a new hour and zone at random instants: its days follow one
// another without a gap. No zone of the list loses a day after 2011.
func TestDueOverMoves(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		move := func() scheduler.Times {
			return read(t, hours().Draw(t, "hour").String(), zone(t, rapid.SampledFrom(zones).Draw(t, "zone")))
		}
		times := move()
		now := instant(t, "2027-01-01T12:00:00Z").Add(time.Duration(rapid.IntRange(0, 8760).Draw(t, "hours")) * time.Hour)
		last := scheduler.Settle(scheduler.Times{}, times, 0, now)
		for _, gap := range gaps().Draw(t, "gaps") {
			before := now
			now = now.Add(gap)
			if rapid.Bool().Draw(t, "move") {
				set := move()
				last, times = scheduler.Settle(times, set, last, now), set
			}
			owed, err := scheduler.Due(times, last, before, now)
			require.NoError(t, err)
			if owed.IsZero() {
				require.Equal(t, last.Add(1), scheduler.Upcoming(times, last, now, 1)[0].Day)
				continue
			}
			for _, d := range append(owed.Missed, owed.Day) {
				require.Equal(t, last.Add(1), d)
				last = d
			}
		}
	})
}

func gaps() *rapid.Generator[[]time.Duration] {
	gap := rapid.OneOf(rapid.IntRange(1, 60), rapid.IntRange(60, 2880), rapid.IntRange(2880, 86400))
	return rapid.SliceOfN(rapid.Map(gap, func(n int) time.Duration { return time.Duration(n) * time.Minute }), 1, 60)
}

func day(t require.TestingT, text string) calendar.Day {
	var d calendar.Day
	require.NoError(t, d.UnmarshalText([]byte(text)))
	return d
}
