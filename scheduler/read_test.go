package scheduler_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/fault"
	"shortday/scheduler"
)

func TestReadTimes(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"7":                     "07:00",
		"07:00":                 "07:00",
		" 7.30 ":                "07:30",
		"7pm":                   "19:00",
		"7:30 PM":               "19:30",
		"12am":                  "00:00",
		"12 pm":                 "12:00",
		"23:59":                 "23:59",
		"every day at 7":        "07:00",
		"daily 6.15":            "06:15",
		"mon,thu 07:00":         "Mon, Thu 07:00",
		"Mon, Thu 07:00":        "Mon, Thu 07:00",
		"thursdays and tues 7":  "Tue, Thu 07:00",
		"mon to fri 6:30":       "weekdays 06:30",
		"weekdays 6:30":         "weekdays 06:30",
		"mon tue wed thu 7":     "Mon, Tue, Wed, Thu 07:00",
		"weekends 9":            "weekends 09:00",
		"sat – mon 9":           "Mon, Sat, Sun 09:00",
		"weekdays, weekend 9":   "09:00",
		"sun-sat 9":             "09:00",
		"0 7 * * *":             "07:00",
		"0 7 ? * ?":             "07:00",
		"30  6 *\t* MON-FRI":    "weekdays 06:30",
		"30 6 1 * *":            "30 6 1 * *",
		"0 7 1,15 Mar-Oct MON":  "0 7 1,15 mar-oct mon",
		"0 7 29 2 *":            "0 7 29 2 *",
		"0 7 */2 * *":           "0 7 */2 * *",
		"5-5 7-7 * 1-12 0-6":    "07:05",
		"0/60 07 * */1 sun,sat": "weekends 07:00",
	} {
		times, err := scheduler.ReadTimes(text, time.UTC)
		require.NoError(t, err, text)
		require.Equal(t, want, times.String(), text)
	}
}

func TestReadTimesRefusals(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"":                               "No time was given. Write an hour",
		" \t":                            "No time was given. Write an hour",
		"CRON_TZ=Asia/Tokyo 0 7 * * *":   `"CRON_TZ=Asia/Tokyo 0 7 * * *" names a zone or a setting. Write the times alone`,
		"TZ=UTC 0 7 * * *":               `"TZ=UTC 0 7 * * *" names a zone`,
		"TZ=0":                           `"TZ=0" names a zone`,
		"CRON_TZ=":                       `"CRON_TZ=" names a zone`,
		"@every 1h":                      `Times with @, as in "@every 1h", are not understood. Write an hour`,
		"@daily":                         `Times with @, as in "@daily"`,
		"0 0 7 * * *":                    `"0 0 7 * * *" has 6 fields. Write five`,
		"0 0 7 * * * 2027":               `has 7 fields. Write five`,
		"0 7,19 * * *":                   `"0 7,19 * * *" strikes more than once a day. Give one minute and one hour`,
		"*/30 7 * * *":                   "strikes more than once a day",
		"0 * * * *":                      "strikes more than once a day",
		"* 7 * * *":                      "strikes more than once a day",
		"0-1 7 * * *":                    "strikes more than once a day",
		"0 7 30 2 *":                     `The days of "0 7 30 2 *" never come. Choose a day of the month that its months have.`,
		"0 7 31 4,6,9,11 *":              "never come",
		"0 7 , * *":                      `"0 7 , * *" is not a time. Write an hour`,
		"0 7 *-5 * *":                    "is not a time",
		"0 +7 * * *":                     "is not a time",
		"0 7 * * 7":                      "is not a time",
		"60 7 * * *":                     "is not a time",
		"0 7 */0 * *":                    "is not a time",
		"0 7 * *":                        "is not a time",
		"24:00":                          `"24:00" is not a time. Write an hour`,
		"13pm":                           "is not a time",
		"7:60":                           "is not a time",
		"-7":                             "is not a time",
		"1 5":                            "is not a time",
		"mo 7":                           "is not a time",
		"mon":                            "is not a time",
		"someday 7":                      "is not a time",
		"mon-tue-wed 7":                  "is not a time",
		strings.Repeat("mon ", 25) + "7": "That is too long for times: 100 letters are the most. Write an hour",
		", ,":                            "is not a time",
		"nightly " + strings.Repeat("é", 40) + " 7": `"nightly ` + strings.Repeat("é", 40) + ` 7" is not a time`,
		strings.Repeat("x", 90):                     strings.Repeat("x", 60) + `…" is not a time`,
		"0 7 * * mon#2":                             "is not a time",
	} {
		_, err := scheduler.ReadTimes(text, time.UTC)
		require.ErrorContains(t, err, want, text)
		require.Equal(t, fault.Unclear, fault.KindOf(err), text)
	}
}

func TestReadHour(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		hour := hours().Draw(t, "hour")
		for _, layout := range []string{"15:04", "15.04", "3:04pm", "3.04 PM"} {
			read, err := scheduler.ReadHour(time.Unix(int64(hour)*60, 0).UTC().Format(layout))
			require.NoError(t, err)
			require.Equal(t, hour, read)
		}
	})
}

func FuzzReadTimes(f *testing.F) {
	for _, text := range []string{"7", "7:30 pm", "mon,thu 07:00", "fri to mon 6.30", "0 7 29 2 *", "0 7 13 * fri", "TZ=0",
		"@every 1s", "0 0 7 * * *", "0 7 , * *", "0 7 30 2 *", "0 7 *-5 * *", "0/9223372036854775807 7 * * *"} {
		f.Add(text)
	}
	dublin := zone(f, "Europe/Dublin")
	after := instant(f, "2027-03-27T12:00:00Z")
	f.Fuzz(func(t *testing.T, text string) {
		times, err := scheduler.ReadTimes(text, dublin)
		if err != nil {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			return
		}
		again := read(t, times.String(), dublin)
		require.Equal(t, times.String(), again.String())
		next := scheduler.Upcoming(times, 0, after, 3)
		require.Equal(t, next, scheduler.Upcoming(again, 0, after, 3))
		require.Len(t, next, 3)
		require.True(t, next[0].At.After(after))
		require.Less(t, next[0].Day, next[1].Day)
		require.Less(t, next[1].Day, next[2].Day)
	})
}
