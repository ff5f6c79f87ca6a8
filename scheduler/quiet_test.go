package scheduler_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/fault"
	"shortday/scheduler"
)

func TestQuietDelay(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		zone, quiet, at, want string
	}{
		"none":                      {"Europe/Dublin", "none", "2027-06-10T23:00:00+01:00", "2027-06-10T23:00:00+01:00"},
		"before":                    {"Europe/Dublin", "22-7", "2027-06-10T21:59:59+01:00", "2027-06-10T21:59:59+01:00"},
		"at the beginning":          {"Europe/Dublin", "22-7", "2027-06-10T22:00:00+01:00", "2027-06-11T07:00:00+01:00"},
		"after midnight":            {"Europe/Dublin", "22-7", "2027-06-11T06:59:59+01:00", "2027-06-11T07:00:00+01:00"},
		"at the end":                {"Europe/Dublin", "22-7", "2027-06-11T07:00:00+01:00", "2027-06-11T07:00:00+01:00"},
		"within a day":              {"Europe/Dublin", "13-15", "2027-06-10T14:00:00+01:00", "2027-06-10T15:00:00+01:00"},
		"ends where no hour is":     {"Europe/Dublin", "22-1:30", "2027-03-28T00:59:59Z", "2027-03-28T02:00:00+01:00"},
		"lies where no hour is":     {"Europe/Dublin", "1:10-1:50", "2027-03-28T01:00:00Z", "2027-03-28T02:00:00+01:00"},
		"ends in a doubled hour":    {"Europe/Dublin", "22-1:30", "2027-10-31T01:10:00+01:00", "2027-10-31T01:30:00+01:00"},
		"second run of a doubled":   {"Europe/Dublin", "22-1:30", "2027-10-31T01:10:00Z", "2027-10-31T01:10:00Z"},
		"begins in a doubled hour":  {"America/Sao_Paulo", "23:30-7", "2018-02-17T23:10:00-03:00", "2018-02-18T07:00:00-03:00"},
		"over a day that never was": {"Pacific/Apia", "22-7", "2011-12-31T03:00:00+14:00", "2011-12-31T07:00:00+14:00"},
		"eve of that day":           {"Pacific/Apia", "22-7", "2011-12-29T23:00:00-10:00", "2011-12-31T07:00:00+14:00"},
		"two days after its eve":    {"Pacific/Apia", "22-7", "2011-12-31T07:00:00+14:00", "2011-12-31T07:00:00+14:00"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			quiet, err := scheduler.ReadQuiet(tt.quiet)
			require.NoError(t, err)
			got := quiet.Delay(instant(t, tt.at).In(zone(t, tt.zone)))
			require.Equal(t, tt.want, got.Format(time.RFC3339))
		})
	}
}

func TestQuietDelayIsOutside(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		quiet := scheduler.Quiet{From: hours().Draw(t, "from"), To: hours().Draw(t, "to")}
		at := instants().Draw(t, "at").In(zone(t, rapid.SampledFrom(zones).Draw(t, "zone")))
		out := quiet.Delay(at)
		require.False(t, out.Before(at))
		require.Equal(t, out, quiet.Delay(out))
		if quiet.From == quiet.To {
			return
		}
		// Away from clock changes the wall clock alone decides.
		if start, end := at.ZoneBounds(); at.Sub(start) > 72*time.Hour && (end.IsZero() || end.Sub(at) > 72*time.Hour) {
			length := (quiet.To - quiet.From + 1440) % 1440
			since := (scheduler.Hour(at.Hour()*60+at.Minute()) - quiet.From + 1440) % 1440
			require.Equal(t, since < length, out.After(at))
			if out.After(at) {
				require.Equal(t, quiet.To.String(), out.Format("15:04"))
				require.Less(t, out.Sub(at), 24*time.Hour)
			}
		}
	})
}

func TestReadQuiet(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"22-7":            "22:00-07:00",
		"22:00 – 6:30":    "22:00-06:30",
		"10pm to 6.30 am": "22:00-06:30",
		" None":           "none",
		"13:00-15:00":     "13:00-15:00",
	} {
		quiet, err := scheduler.ReadQuiet(text)
		require.NoError(t, err, text)
		require.Equal(t, want, quiet.String(), text)
	}
	for _, text := range []string{"", "22", "22-", "-7", "7-7", "22-25", "22-6-7", "at night"} {
		_, err := scheduler.ReadQuiet(text)
		require.ErrorContains(t, err, "Write two different hours", text)
		require.Equal(t, fault.Unclear, fault.KindOf(err), text)
	}
}
