package scheduler_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/register"
	"shortday/scheduler"
)

func TestPlay(t *testing.T) {
	t.Parallel()
	at := instant(t, "2027-03-26T12:00:00Z")
	s := newStage(t, func() time.Time { return at })
	seat := s.coop("Quay", "Europe/Dublin", "07:00")
	set, err := s.Reminders(t.Context(), seat.Member.ID)
	require.NoError(t, err)
	set.Wanted, set.Times, set.Quiet = true, "06:00", "17:00-06:30"
	require.NoError(t, s.SetReminders(t.Context(), register.Actor{Member: seat.Member.ID, At: at}, set))
	play := scheduler.NewPlay(s.config())
	to := func(text string, want ...string) {
		t.Helper()
		s.told = nil
		require.NoError(t, play.To(t.Context(), instant(t, text)))
		var told []string
		for _, n := range s.told {
			told = append(told, n.Kind+" "+n.Day.String())
		}
		require.Equal(t, want, told)
	}
	to("2027-03-26T12:00:00Z")
	to("2027-03-27T06:29:59Z")
	to("2027-03-27T06:30:00Z", "evening 2027-03-26", "morning 2027-03-27")
	to("2027-03-28T12:00:00+01:00", "notice 2027-03-27", "evening 2027-03-27", "morning 2027-03-28", "notice 2027-03-28")
	set.Wanted = false
	require.NoError(t, s.SetReminders(t.Context(), register.Actor{Member: seat.Member.ID, At: instant(t, "2027-03-28T12:00:00+01:00")}, set))
	to("2027-03-29T12:00:00+01:00", "notice 2027-03-29")
}

// Members who record by clocks ahead of ours, as those in the west do by theirs, do not stop a season.
func TestPlayGoesOnFromWhatWasRecorded(t *testing.T) {
	t.Parallel()
	at := instant(t, "2027-03-26T12:00:00Z")
	s := newStage(t, func() time.Time { return at })
	seat := s.coop("Quay", "Europe/Dublin", "07:00")
	play := scheduler.NewPlay(s.config())
	require.NoError(t, play.To(t.Context(), at))
	set, err := s.Reminders(t.Context(), seat.Member.ID)
	require.NoError(t, err)
	require.NoError(t, s.SetReminders(t.Context(), register.Actor{Member: seat.Member.ID, At: at.Add(30 * time.Hour)}, set))
	require.NoError(t, play.To(t.Context(), at.Add(24*time.Hour)))
	require.NoError(t, play.To(t.Context(), at.Add(48*time.Hour)))
	require.NotEmpty(t, s.told)
}
