package scheduler_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
	"shortday/scheduler"
)

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
