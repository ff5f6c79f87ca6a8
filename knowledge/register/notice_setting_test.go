package register_test

import (
	"context"
	"database/sql"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func TestNoticeSettings(t *testing.T) {
	t.Parallel()
	g := plant(t)
	set, err := g.Notices(t.Context(), g.nora.Coop)
	require.NoError(t, err)
	require.Equal(t, register.NoticeSetting{Coop: g.nora.Coop, Key: set.Key, Name: set.Name, Zone: set.Zone, Adapter: register.Terminal,
		Times: "07:00", WeekAhead: 1, Calls: true}, set, "the defaults")
	want := set
	want.Adapter, want.Place, want.Times, want.WeekAhead = register.Discord, "77", "", register.NoDay
	want.Care, want.Calls, want.StewardsRole = true, false, "88"
	err = g.SetNotices(t.Context(), g.by(g.piet, "2027-06-01"), want)
	require.Equal(t, fault.Barred, fault.KindOf(err))
	require.NoError(t, g.SetNotices(t.Context(), g.by(g.nora, "2027-06-01"), want))
	set, err = g.Notices(t.Context(), g.nora.Coop)
	require.NoError(t, err)
	require.Equal(t, want, set)
	_, err = g.Notices(t.Context(), 99)
	require.Equal(t, fault.Missing, fault.KindOf(err))
}

func TestReminderSettings(t *testing.T) {
	t.Parallel()
	g := plant(t)
	set, err := g.Reminders(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.Equal(t, register.ReminderSetting{Member: g.piet.ID, Key: "piet", Name: "Piet", Coop: g.piet.Coop, Zone: set.Zone, Times: "07:00", Quiet: "none", Care: true}, set)
	set.Wanted, set.Times, set.Quiet, set.Called, set.Care = true, "weekdays 06:30", "22:00-06:00", true, false
	require.NoError(t, g.SetReminders(t.Context(), g.by(g.piet, "2027-06-01"), set))
	all, err := g.Called(t.Context(), g.piet.Coop)
	require.NoError(t, err)
	require.Equal(t, []register.ReminderSetting{set}, all)
	for _, kind := range []register.StrokeKind{register.StrokeMorning, register.StrokeEvening} {
		stroke, err := g.StrokeOf(t.Context(), g.piet.Coop, g.piet.ID, kind)
		require.NoError(t, err)
		require.Zero(t, stroke.Next, "the scheduler is to take it up")
	}
	require.NoError(t, g.PauseReminders(t.Context(), g.piet.ID, "direct messages are closed", noon(t, "2027-06-02")))
	kept, err := g.Export(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.Equal(t, "direct messages are closed", kept.Reminders.Paused)
	require.NoError(t, g.Leave(t.Context(), g.by(g.piet, "2027-06-02")))
	_, err = g.Reminders(t.Context(), g.piet.ID)
	require.Equal(t, fault.Missing, fault.KindOf(err))
}

// say keeps that a notice told of jobs.
func (g *garden) say(member int64, on string, words ...register.Word) error {
	g.t.Helper()
	return g.KeepTelling(g.t.Context(), noon(g.t, on), func(context.Context, *sql.Tx) error { return nil },
		register.Telling{Key: fmt.Sprint(member, on), Coop: g.nora.Coop, Member: member, Kind: "notice", Day: day(g.t, on), End: register.TellingKept, Said: words})
}

func TestWhatWasSaid(t *testing.T) {
	t.Parallel()
	g := plant(t)
	out, err := g.SetTarget(t.Context(), g.by(g.piet, "2027-01-10"), g.late.ID, crop.Target{From: day(t, "2027-11-05")}, 40)
	require.NoError(t, err)
	open := func(member int64) []register.OpenJob {
		jobs, err := g.OpenOfCoop(t.Context(), g.nora.Coop, day(t, "2027-06-30"), [2]calendar.Day{})
		if member != 0 {
			jobs, err = g.OpenOfMember(t.Context(), member, day(t, "2027-06-30"), [2]calendar.Day{})
		}
		require.NoError(t, err)
		require.NotEmpty(t, jobs)
		require.Equal(t, day(t, "2027-11-05"), jobs[0].Wanted)
		return jobs
	}
	first := open(0)[0]
	words := []register.Word{{out.Plan.ID, first.Kind, register.SayDue, first.Due}, {out.Plan.ID, first.Kind, register.SayAhead, 0},
		{out.Plan.ID + 1, first.Kind, register.SayAhead, 0}}
	for range 2 {
		require.NoError(t, g.say(g.piet.ID, "2027-02-01", words...))
	}
	require.Equal(t, register.Told{Due: true, Ahead: true}, open(g.piet.ID)[0].Told)
	require.Zero(t, open(0)[0].Told, "the group was not told")

	_, err = g.Later(t.Context(), g.by(g.piet, "2027-01-11"), out.Plan.ID, first.Kind, day(t, "2027-01-20"))
	require.NoError(t, err)
	for _, j := range open(g.piet.ID) {
		if j.Kind == first.Kind {
			require.Equal(t, register.Told{Ahead: true}, j.Told, "of another day it is told again, but not of the week ahead")
		}
	}
	kept, err := g.Export(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.ElementsMatch(t, words[:2], kept.Said)
	require.NoError(t, g.Leave(t.Context(), g.by(g.piet, "2027-06-02")))
}

func TestTargetsThatMayBeOutOfReach(t *testing.T) {
	t.Parallel()
	g := plant(t)
	out, err := g.SetTarget(t.Context(), g.by(g.piet, "2027-01-10"), g.late.ID, crop.Target{From: day(t, "2027-11-05")}, 40)
	require.NoError(t, err)
	doubtful := func(member int64, on string) []register.Plan {
		plans, err := g.Doubtful(t.Context(), g.nora.Coop, member, day(t, on))
		require.NoError(t, err)
		return plans
	}
	require.Empty(t, doubtful(0, "2027-01-11"))
	require.Empty(t, doubtful(g.nora.ID, "2027-10-01"))
	require.Len(t, doubtful(0, "2027-10-01"), 1)
	require.Len(t, doubtful(g.piet.ID, "2027-10-01"), 1)
	require.NoError(t, g.say(0, "2027-10-01", register.Word{Plan: out.Plan.ID, About: register.SayMissed}))
	require.Empty(t, doubtful(0, "2027-10-02"))
	require.Len(t, doubtful(g.piet.ID, "2027-10-02"), 1, "Piet was not told")
}

func TestOpenJobsAreFoundByIndex(t *testing.T) {
	t.Parallel()
	g := plant(t)
	rows, err := g.DB().QueryContext(t.Context(), "EXPLAIN QUERY PLAN "+register.SelectOpenCoop, 0, 1, "2027-01-01", "2027-01-01", "2027-01-02")
	require.NoError(t, err)
	defer func() { require.NoError(t, rows.Close()) }()
	for rows.Next() {
		var id, parent, unused int
		var detail string
		require.NoError(t, rows.Scan(&id, &parent, &unused, &detail))
		require.NotContains(t, detail, "SCAN")
	}
	require.NoError(t, rows.Err())
}
