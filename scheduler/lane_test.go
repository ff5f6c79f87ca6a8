package scheduler_test

import (
	"context"
	"database/sql"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
	"shortday/scheduler"
)

// lane is an invented co-op on a register of its own.
type lane struct {
	*register.Register
	t    testing.TB
	coop int64
}

func openLane(t testing.TB) lane {
	t.Helper()
	reg, err := register.Open(t.Context(), filepath.Join(t.TempDir(), "lane.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	return lane{Register: reg, t: t}
}

func at(t testing.TB, on string) time.Time {
	t.Helper()
	return day(t, on).UTC().Add(7 * time.Hour)
}

// member enters a member who grows at 53° N under cover; the first is the steward.
func (l *lane) member(name, on string) register.Member {
	l.t.Helper()
	seat, err := l.Enter(l.t.Context(), register.Entry{CoopKey: "lane", CoopName: "Tallow Lane", Key: variety.Fold(name), Name: name, At: at(l.t, on)})
	require.NoError(l.t, err)
	l.coop = seat.Coop.ID
	_, err = l.SetMember(l.t.Context(), register.Actor{Member: seat.Member.ID, At: at(l.t, on)}, register.CoopUnits, 3, place.Place{
		Point: place.Point{Lat: 53, Lon: -6.7}, Zone: "Europe/Dublin", Exact: true, Cover: true, BottomHeat: true, Lights: true, BlackOut: true})
	require.NoError(l.t, err)
	return seat.Member
}

func (l *lane) variety(by register.Member, name string, season variety.Season, on string) register.Variety {
	l.t.Helper()
	v, err := l.AddVariety(l.t.Context(), register.Actor{Member: by.ID, At: at(l.t, on)}, variety.Variety{Name: name, Season: season, Response: 9})
	require.NoError(l.t, err)
	return v
}

func (l *lane) target(m register.Member, v register.Variety, bloom, on string) register.Plan {
	l.t.Helper()
	out, err := l.SetTarget(l.t.Context(), register.Actor{Member: m.ID, At: at(l.t, on)}, v.ID, crop.Target{From: day(l.t, bloom)}, 40)
	require.NoError(l.t, err)
	return out.Plan
}

func (l *lane) compose(s scheduler.Subject, on string) (scheduler.Notice, bool) {
	l.t.Helper()
	s.Coop, s.Day = l.coop, day(l.t, on)
	n, some, err := scheduler.Compose(l.t.Context(), l.Register, s, at(l.t, on))
	require.NoError(l.t, err)
	return n, some
}

// told keeps a notice as received.
func (l *lane) told(n scheduler.Notice, member int64) {
	l.t.Helper()
	require.NoError(l.t, l.KeepTelling(l.t.Context(), n.Day.UTC().Add(8*time.Hour), func(context.Context, *sql.Tx) error { return nil }, register.Telling{
		Key: n.Key, Coop: l.coop, Member: member, Kind: n.Kind, Day: n.Day, End: register.TellingKept, Said: n.Said}))
}

// sheet writes a notice as one reads it.
func sheet(n scheduler.Notice) string {
	lines := []string{n.Title, "", n.Text, ""}
	for _, o := range n.Next {
		lines = append(lines, o.Label+"  "+o.Request)
	}
	return strings.Join(lines, "\n")
}

// planted is a co-op with four targets of three members, all set in November.
func planted(t testing.TB) (l lane, oona, piet, wren register.Member) {
	t.Helper()
	l = openLane(t)
	const on = "2026-11-20"
	oona, piet, wren = l.member("Oona", on), l.member("Piet", on), l.member("Wren", on)
	salt, copper := l.variety(oona, "Saltmarsh", variety.Late, on), l.variety(piet, "Copper Latch", variety.Mid, on)
	l.target(oona, salt, "2027-11-05", on)
	l.target(oona, copper, "2027-10-14", on)
	l.target(piet, copper, "2027-10-14", on)
	l.target(wren, salt, "2027-11-05", on)
	return l, oona, piet, wren
}

// catchUp tells the group all there is day by day, up to the day before.
func (l *lane) catchUp(from, before string) {
	l.t.Helper()
	for d := day(l.t, from); d < day(l.t, before); d++ {
		if n, some := l.compose(scheduler.Subject{Kind: scheduler.Daily}, d.String()); some {
			l.told(n, 0)
		}
	}
}

func (l *lane) done(m register.Member, kind crop.Kind, v, on string) {
	l.t.Helper()
	named, err := l.VarietyNamed(l.t.Context(), l.coop, v)
	require.NoError(l.t, err)
	_, err = l.Done(l.t.Context(), register.Actor{Member: m.ID, At: at(l.t, on)}, register.Step{Kind: kind, Variety: named.ID})
	require.NoError(l.t, err)
}

// asked sets how a member is told.
func (l *lane) asked(m register.Member, change func(*register.ReminderSetting)) {
	l.t.Helper()
	set, err := l.Reminders(l.t.Context(), m.ID)
	require.NoError(l.t, err)
	set.Wanted = true
	change(&set)
	require.NoError(l.t, l.SetReminders(l.t.Context(), register.Actor{Member: m.ID, At: at(l.t, "2026-11-20")}, set))
}
