package scheduler_test

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
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

func TestDailyNotice(t *testing.T) {
	t.Parallel()
	l, oona, piet, wren := planted(t)
	l.catchUp("2026-11-21", "2027-02-02")
	says := func(on, want string) {
		t.Helper()
		n, some := l.compose(scheduler.Subject{Kind: scheduler.Daily}, on)
		require.Equal(t, want != "", some, n.Text)
		if some {
			require.Equal(t, strings.TrimSpace(want), sheet(n))
			l.told(n, 0)
		}
	}
	says("2027-02-02", `
Tallow Lane, Tue 2 Feb 2027

2 jobs of 2 members today.

This evening, for tomorrow
Water box: Oona Saltmarsh; Wren Saltmarsh

All that is due in the co-op  /job due all:yes
What is due of your own  /job due`)
	says("2027-02-02", "") // said once
	l.done(oona, crop.WakeWater, "Saltmarsh", "2027-02-02")
	says("2027-02-03", `
Tallow Lane, Wed 3 Feb 2027

2 jobs of 2 members today and 1 overdue.

Overdue
Water box: Wren Saltmarsh since 2 Feb

Today
Wake: Oona Saltmarsh; Wren Saltmarsh

All that is due in the co-op  /job due all:yes
What is due of your own  /job due`)
	l.done(oona, crop.Wake, "Saltmarsh", "2027-02-03")
	says("2027-02-04", `
Tallow Lane, Thu 4 Feb 2027

1 overdue.

Overdue
Wake: Wren Saltmarsh since 3 Feb

All that is due in the co-op  /job due all:yes
What is due of your own  /job due`)
	says("2027-02-05", "")
	says("2027-02-08", `
Tallow Lane, Mon 8 Feb 2027

The week ahead
4 jobs: 2 × water box from Thu and 2 × wake from Fri.

All that is due in the co-op  /job due all:yes until:2027-02-15
What is due of your own  /job due`)

	for _, m := range []register.Member{oona, wren} { // a target dropped, and a member who left
		plans, err := l.Plans(t.Context(), m.ID, 0)
		require.NoError(t, err)
		_, err = l.DropTarget(t.Context(), register.Actor{Member: m.ID, At: at(t, "2027-02-09")}, plans[0].ID, "")
		require.NoError(t, err)
	}
	require.NoError(t, l.Leave(t.Context(), register.Actor{Member: wren.ID, At: at(t, "2027-02-09")}))
	l.catchUp("2027-02-09", "2027-05-21")
	says("2027-05-21", `
Tallow Lane, Fri 21 May 2027

Mind
In a week, on Fri 28 May 2027, stop: Piet Copper Latch

All that is due in the co-op  /job due all:yes
What is due of your own  /job due`)
	require.NoError(t, l.Away(t.Context(), piet.ID, at(t, "2027-05-22")))
	says("2027-05-28", "") // Piet has left the co-op's server, and Oona's other target is dropped
}

func TestNoticeAfterDowntime(t *testing.T) {
	t.Parallel()
	l, _, _, _ := planted(t)
	l.catchUp("2026-11-21", "2027-02-02")
	n, some := l.compose(scheduler.Subject{Kind: scheduler.Daily, Missed: []calendar.Day{day(t, "2027-02-01"), day(t, "2027-02-02")}}, "2027-02-03")
	require.True(t, some)
	require.Equal(t, `Nothing was told for 2 days, since Mon 1 Feb 2027: this is what piled up. 2 jobs of 2 members today and 2 overdue.

Overdue, and not told before
Water box: Oona Saltmarsh since 2 Feb; Wren Saltmarsh since 2 Feb

Today
Wake: Oona Saltmarsh; Wren Saltmarsh`, n.Text)
	l.told(n, 0)
	n, some = l.compose(scheduler.Subject{Kind: scheduler.Daily, Missed: []calendar.Day{day(t, "2027-02-08")}}, "2027-02-09")
	require.True(t, some)
	require.Contains(t, n.Text, "The week ahead\n4 jobs: 2 × water box from Thu and 2 × wake from Fri.", "its day was the one missed")
}

func TestNoticeThatIsNotDaily(t *testing.T) {
	t.Parallel()
	l, oona, _, _ := planted(t)
	l.catchUp("2026-11-21", "2027-01-29")
	set, err := l.Notices(t.Context(), l.coop)
	require.NoError(t, err)
	set.Times, set.WeekAhead = "fri 07:00", register.NoDay
	require.NoError(t, l.SetNotices(t.Context(), register.Actor{Member: oona.ID, At: at(t, "2027-01-29")}, set))
	n, some := l.compose(scheduler.Subject{Kind: scheduler.Daily}, "2027-01-29")
	require.True(t, some)
	require.Equal(t, `4 jobs of 2 members until Thu 4 Feb 2027.

Before the next notice
Water box: Oona Saltmarsh on Tue 2 Feb; Wren Saltmarsh on Tue 2 Feb
Wake: Oona Saltmarsh on Wed 3 Feb; Wren Saltmarsh on Wed 3 Feb`, n.Text)
}

func TestWarnings(t *testing.T) {
	t.Parallel()
	l, oona, _, _ := planted(t)
	coop, err := l.Coop(t.Context(), l.coop)
	require.NoError(t, err)
	coop.StopWord = register.SayPinch
	_, err = l.Setup(t.Context(), register.Actor{Member: oona.ID, At: at(t, "2026-11-21")}, coop)
	require.NoError(t, err)
	plans, err := l.Plans(t.Context(), oona.ID, 0)
	require.NoError(t, err)
	cut, err := l.Job(t.Context(), plans[0].ID, crop.Cut)
	require.NoError(t, err)
	stop, err := l.Job(t.Context(), plans[0].ID, crop.Stop)
	require.NoError(t, err)
	says := func(on calendar.Day, want string) {
		t.Helper()
		n, some := l.compose(scheduler.Subject{Kind: scheduler.Daily}, on.String())
		require.True(t, some)
		require.Contains(t, n.Text+"\n", want+"\n")
	}
	l.catchUp("2026-11-21", cut.LastSafe.Add(-1).String())
	says(cut.LastSafe.Add(-1), "The last safe day to take cuttings and strike the cuttings is tomorrow, "+cut.LastSafe.Long()+
		": Oona Copper Latch; Piet Copper Latch. After it "+cut.Lost+".")
	n, _ := l.compose(scheduler.Subject{Kind: scheduler.Daily}, cut.LastSafe.Add(1).String())
	for _, name := range []string{"Oona", "Piet"} {
		require.Contains(t, n.Text, "Out of reach: "+name+"'s Copper Latch for Thu 14 Oct 2027. Cuttings struck now come too late for a stop by ")
	}
	l.catchUp(cut.LastSafe.Add(-1).String(), stop.Due.Add(-7).String())
	says(stop.Due.Add(-7), "In a week, on "+stop.Due.Long()+", pinch: Oona Copper Latch; Piet Copper Latch")
	l.catchUp(stop.Due.Add(-7).String(), stop.Due.Add(-5).String())
	n, _ = l.compose(scheduler.Subject{Kind: scheduler.Daily}, stop.Due.Add(-5).String())
	require.NotContains(t, n.Text, "Copper Latch", "a plan out of reach and a pinch are told once")
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

func TestReminders(t *testing.T) {
	t.Parallel()
	l, oona, piet, _ := planted(t)
	_, some := l.compose(scheduler.Subject{Kind: scheduler.Evening, Member: oona.ID}, "2027-02-02")
	require.False(t, some, "Oona did not ask for it")
	l.asked(oona, func(*register.ReminderSetting) {})
	l.asked(piet, func(s *register.ReminderSetting) { s.Paused = "direct messages are closed" })
	_, some = l.compose(scheduler.Subject{Kind: scheduler.Morning, Member: piet.ID}, "2027-02-02")
	require.False(t, some)
	for d := day(t, "2026-11-21"); d < day(t, "2027-02-02"); d++ {
		if n, some := l.compose(scheduler.Subject{Kind: scheduler.Morning, Member: oona.ID}, d.String()); some {
			l.told(n, oona.ID)
		}
	}
	_, some = l.compose(scheduler.Subject{Kind: scheduler.Morning, Member: oona.ID}, "2027-02-02")
	require.False(t, some, "watering before waking is for the evening")
	n, some := l.compose(scheduler.Subject{Kind: scheduler.Evening, Member: oona.ID}, "2027-02-02")
	require.True(t, some)
	require.Equal(t, `This evening in Tallow Lane, Tue 2 Feb 2027

Water box Saltmarsh

Done: water box Saltmarsh  /job done job:"water box Saltmarsh 2027-11-05"
Tomorrow: water box Saltmarsh  /job later job:"water box Saltmarsh 2027-11-05" to:"tomorrow"
In 3 days: water box Saltmarsh  /job later job:"water box Saltmarsh 2027-11-05" to:"in 3 days"
Next week: water box Saltmarsh  /job later job:"water box Saltmarsh 2027-11-05" to:"next week"
Skip: water box Saltmarsh  /job skip job:"water box Saltmarsh 2027-11-05"`, sheet(n))
	require.Equal(t, scheduler.Party{Key: "oona", Name: "Oona"}, n.Member)
	l.told(n, oona.ID)

	n, some = l.compose(scheduler.Subject{Kind: scheduler.Morning, Member: oona.ID, Missed: []calendar.Day{day(t, "2027-02-02")}}, "2027-02-03")
	require.True(t, some)
	require.Equal(t, "Nothing was told for 1 day, since Tue 2 Feb 2027: this is what piled up.\n\n"+
		"Water box Saltmarsh, overdue since 2 Feb\nWake Saltmarsh, between 12 Jan and 24 Feb", n.Text)
	l.told(n, oona.ID)
	l.done(oona, crop.Wake, "Saltmarsh", "2027-02-03")
	_, some = l.compose(scheduler.Subject{Kind: scheduler.Evening, Member: oona.ID}, "2027-02-03")
	require.False(t, some)

	require.NoError(t, l.Leave(t.Context(), register.Actor{Member: oona.ID, At: at(t, "2027-02-04")}))
	_, some = l.compose(scheduler.Subject{Kind: scheduler.Morning, Member: oona.ID}, "2027-02-12")
	require.False(t, some, "Oona has left")
}

func TestRoutineCareLapses(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	oona := l.member("Oona", "2027-04-01")
	salt := l.variety(oona, "Saltmarsh", variety.Late, "2027-04-01")
	by := register.Actor{Member: oona.ID, At: at(t, "2027-04-01")}
	_, err := l.Add(t.Context(), by, register.Stock{Variety: salt.ID, Stage: crop.Housed, Count: 20, Since: day(t, "2027-04-01")})
	require.NoError(t, err)
	_, err = l.Add(t.Context(), by, register.Stock{Variety: salt.ID, Stage: crop.Woken, Count: 20, Since: day(t, "2027-04-01")})
	require.NoError(t, err)
	l.asked(oona, func(*register.ReminderSetting) {})
	care := func(kind scheduler.Kind, member int64, on string) string {
		n, _ := l.compose(scheduler.Subject{Kind: kind, Member: member}, on)
		i := strings.Index(n.Text, "Routine care")
		if i < 0 {
			return ""
		}
		line, _, _ := strings.Cut(n.Text[i:], "\n")
		return line
	}
	require.Empty(t, care(scheduler.Daily, 0, "2027-04-04"), "the group did not ask for it")
	require.Equal(t, "Routine care: water (in the morning only) Saltmarsh; water Saltmarsh.", care(scheduler.Morning, oona.ID, "2027-04-04"))
	require.Empty(t, care(scheduler.Morning, oona.ID, "2027-04-05"), "what nobody watered is not overdue")
	require.Equal(t, "Routine care: water (in the morning only) Saltmarsh; water Saltmarsh.", care(scheduler.Morning, oona.ID, "2027-04-07"), "and comes again")
	require.Equal(t, "Routine care: water (in the morning only) Saltmarsh; water Saltmarsh.", care(scheduler.Morning, oona.ID, "2027-06-10"), "daily in summer")
	require.Equal(t, "Routine care: water (in the morning only) Saltmarsh; water Saltmarsh.", care(scheduler.Morning, oona.ID, "2027-06-11"), "daily in summer")
	set, err := l.Notices(t.Context(), l.coop)
	require.NoError(t, err)
	set.Care = true
	require.NoError(t, l.SetNotices(t.Context(), by, set))
	require.Equal(t, "Routine care: Oona water", care(scheduler.Daily, 0, "2027-04-04"))
	l.asked(oona, func(s *register.ReminderSetting) { s.Care = false })
	require.Empty(t, care(scheduler.Morning, oona.ID, "2027-04-04"))
}

func TestWhoIsCalled(t *testing.T) {
	t.Parallel()
	l, oona, piet, wren := planted(t)
	l.asked(oona, func(s *register.ReminderSetting) { s.Wanted, s.Called = false, true })
	l.asked(piet, func(s *register.ReminderSetting) { s.Called = true })
	l.asked(wren, func(s *register.ReminderSetting) { s.Called, s.Quiet = true, "20:00-09:00" })
	l.catchUp("2026-11-21", "2027-02-02")
	n, some := l.compose(scheduler.Subject{Kind: scheduler.Daily}, "2027-02-02")
	require.True(t, some)
	require.Equal(t, []scheduler.Party{{Key: "oona", Name: "Oona"}}, n.Calls, "Piet has nothing to do and Wren is still asleep")
	set, err := l.Notices(t.Context(), l.coop)
	require.NoError(t, err)
	set.Calls, set.Place = false, "77"
	require.NoError(t, l.SetNotices(t.Context(), register.Actor{Member: oona.ID, At: at(t, "2026-11-20")}, set))
	n, some = l.compose(scheduler.Subject{Kind: scheduler.Daily}, "2027-02-02")
	require.True(t, some)
	require.Empty(t, n.Calls)
	require.Equal(t, "77", n.Place)
}

func BenchmarkCompose(b *testing.B) {
	l := openLane(b)
	require.NoError(b, l.Together(b.Context(), func(ctx context.Context) error {
		for i := range 40 {
			seat, err := l.Enter(ctx, register.Entry{CoopKey: "lane", CoopName: "Tallow Lane", Key: fmt.Sprint(i), Name: fmt.Sprintf("Grower %d", i), At: at(b, "2026-11-20")})
			require.NoError(b, err)
			by := register.Actor{Member: seat.Member.ID, At: at(b, "2026-11-20")}
			_, err = l.SetMember(ctx, by, register.CoopUnits, 3, place.Place{Point: place.Point{Lat: 53, Lon: -6.7}, Zone: "Europe/Dublin", Exact: true, Cover: true})
			require.NoError(b, err)
			v, err := l.AddVariety(ctx, by, variety.Variety{Name: fmt.Sprintf("Variety %d", i), Season: variety.Late})
			require.NoError(b, err)
			l.coop = seat.Coop.ID
			for k := range 2 {
				out, err := l.SetTarget(ctx, by, v.ID, crop.Target{From: day(b, "2027-11-05").Add(i%7 + k)}, 40)
				require.NoError(b, err)
				for _, step := range []crop.Kind{crop.Wake, crop.Cut, crop.Strike, crop.Pot} { // else all the others wait for them
					_, err = l.Skip(ctx, by, out.Plan.ID, step, "")
					require.NoError(b, err)
				}
			}
		}
		return nil
	}))
	jobs, err := l.CoopJobs(b.Context(), l.coop, 0, day(b, "2027-09-10"))
	require.NoError(b, err)
	require.Greater(b, len(jobs), 600)
	s := scheduler.Subject{Kind: scheduler.Daily, Coop: l.coop, Day: day(b, "2027-09-10")}
	b.ReportAllocs()
	for b.Loop() {
		_, some, err := scheduler.Compose(b.Context(), l.Register, s, at(b, "2027-09-10"))
		require.NoError(b, err)
		require.True(b, some)
	}
}

func TestReminderOfManyJobs(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	oona := l.member("Oona", "2026-11-20")
	l.asked(oona, func(*register.ReminderSetting) {})
	var first register.Plan
	for i := range 10 {
		p := l.target(oona, l.variety(oona, fmt.Sprintf("Variety \"%d\"", i), variety.Late, "2026-11-20"), "2027-11-05", "2026-11-20")
		if i == 0 {
			first = p
		}
	}
	wake, err := l.Job(t.Context(), first.ID, crop.WakeWater)
	require.NoError(t, err)
	tell := func() scheduler.Notice {
		n, some := l.compose(scheduler.Subject{Kind: scheduler.Evening, Member: oona.ID}, wake.Due.String())
		require.True(t, some)
		l.told(n, oona.ID)
		return n
	}
	n := tell()
	require.Equal(t, 8, strings.Count(n.Text, "Water box"))
	require.Contains(t, n.Text, "2 more come next time; /job due has all.")
	require.Len(t, n.Next, 8*3+1, "done, later and skip of each, and all that is due")
	require.Equal(t, scheduler.Offer{Label: `Later: water box Variety "0"`, Request: `/job later job:"water box Variety \"0\" 2027-11-05"`}, n.Next[1])
	n = tell()
	require.Equal(t, 2, strings.Count(n.Text, "Water box"))
	require.Len(t, n.Next, 2*5, "with few jobs each day to put it off to")
}
