package scheduler

import (
	"fmt"
	"strings"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Hour is what a wall clock shows, in minutes after midnight: 0 to 1439.
type Hour int

// ReadHour reads "7", "07:00", "7.30", "7pm" or "7:30 pm".
func ReadHour(text string) (Hour, error) {
	compact := strings.NewReplacer(" am", "am", " pm", "pm", ".", ":").Replace(strings.ToLower(strings.TrimSpace(text)))
	for _, layout := range []string{"15", "15:04", "3pm", "3:04pm"} {
		if t, err := time.Parse(layout, compact); err == nil {
			return Hour(t.Hour()*60 + t.Minute()), nil
		}
	}
	return 0, fault.New(fault.Unclear, "%q is not an hour of the day. Write it as in 7, 07:00 or 7pm.", clip(text))
}

// String gives "07:00".
func (h Hour) String() string { return fmt.Sprintf("%02d:%02d", h/60, h%60) }

// on gives the instant at which a clock in the zone strikes the hour on a day; false where the zone never had the day.
func (h Hour) on(d calendar.Day, zone *time.Location) (time.Time, bool) {
	return calendar.At(d, int(h/60), int(h%60), zone)
}

// clip shortens what a member wrote to what a refusal has room to repeat.
func clip(text string) string { return cut(text, 60) }

// cut shortens a text to so many letters, and shows that it did.
func cut(text string, room int) string {
	if runes := []rune(text); len(runes) > room {
		return string(runes[:room]) + "…"
	}
	return text
}
