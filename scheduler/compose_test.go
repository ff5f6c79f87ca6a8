package scheduler_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
	"shortday/scheduler"
)

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
