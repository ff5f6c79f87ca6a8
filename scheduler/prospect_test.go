package scheduler_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/register"
	"shortday/scheduler"
)

// TestWhatIsForeseenComes tells all there is day by day and compares when with what was foreseen at the beginning.
func TestWhatIsForeseenComes(t *testing.T) {
	t.Parallel()
	const most = 6
	l, oona, _, _ := planted(t)
	l.asked(oona, func(s *register.ReminderSetting) { s.Quiet = "17:00-19:00" })
	notices, err := scheduler.NextNotices(t.Context(), l.Register, l.coop, at(t, "2026-11-21"), most)
	require.NoError(t, err)
	reminders, err := scheduler.NextReminders(t.Context(), l.Register, oona.ID, at(t, "2026-11-21"), most)
	require.NoError(t, err)
	var foreseen, came []string
	for _, p := range notices {
		foreseen = append(foreseen, p.At.Format("2006-01-02 15:04"))
	}
	for _, p := range reminders {
		foreseen = append(foreseen, p.At.Format("2006-01-02 15:04"))
	}
	for _, a := range []struct {
		kinds  map[scheduler.Kind]string
		member int64
	}{
		{map[scheduler.Kind]string{scheduler.Daily: "07:00"}, 0},
		{map[scheduler.Kind]string{scheduler.Morning: "07:00", scheduler.Evening: "19:00"}, oona.ID},
	} {
		n := 0
		for d := day(t, "2026-11-22"); n < most; d++ {
			for _, kind := range []scheduler.Kind{scheduler.Daily, scheduler.Morning, scheduler.Evening} {
				hour, ok := a.kinds[kind]
				if !ok {
					continue
				}
				if notice, some := l.compose(scheduler.Subject{Kind: kind, Member: a.member}, d.String()); some && n < most {
					n++
					came = append(came, d.String()+" "+hour)
					l.told(notice, a.member)
				}
			}
		}
	}
	require.Equal(t, came, foreseen)
	require.Len(t, came, 2*most)

	l.asked(oona, func(s *register.ReminderSetting) { s.Wanted = false })
	none, err := scheduler.NextReminders(t.Context(), l.Register, oona.ID, at(t, "2026-11-21"), most)
	require.NoError(t, err)
	require.Empty(t, none)
}
