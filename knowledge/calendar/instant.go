package calendar

import "time"

// Instant is a moment as it is told to a reader: by the clock of the zone in which At is, and by the reader's own where
// that shows something else.
type Instant struct {
	At     time.Time
	Reader *time.Location // nil: not known, or of many readers
}

// String names the day with its weekday, and the hour: "Sat 14 Mar 2026, 10:00". Where the reader's clock does not show
// the same, zones are named.
func (i Instant) String() string {
	day := DayAt(i.At)
	told := day.Long() + ", " + clock(i.At)
	if i.Reader == nil {
		return told + " in " + i.At.Location().String()
	}
	there := i.At.In(i.Reader)
	if sameClock(i.At, there) {
		return told
	}
	shown := clock(there)
	if DayAt(there) != day {
		shown = DayAt(there).Long() + ", " + shown
	}
	return told + " in " + i.At.Location().String() + ", which is " + shown + " in " + i.Reader.String()
}

func sameClock(a, b time.Time) bool {
	_, one := a.Zone()
	_, other := b.Zone()
	return one == other
}

// clock gives the hour, and which of the two it is where a clock that goes back shows it twice.
func clock(t time.Time) string {
	shown := t.Format("15:04")
	other, twice := Twin(t)
	switch {
	case !twice:
		return shown
	case t.Before(other):
		return shown + " (the first of two)"
	}
	return shown + " (the second of two)"
}

// Twin gives the other instant at which the clock of the same zone shows the same, where it goes back; false where there
// is none.
func Twin(t time.Time) (other time.Time, ok bool) {
	start, end := t.ZoneBounds()
	if back := setBack(start); back > 0 {
		if other = t.Add(-back); other.Before(start) {
			return other, true
		}
	}
	if back := setBack(end); back > 0 {
		if other = t.Add(back); !other.Before(end) {
			return other, true
		}
	}
	return time.Time{}, false
}

// setBack gives by how much the clock goes back at a change of it.
func setBack(change time.Time) time.Duration {
	if change.IsZero() {
		return 0
	}
	_, before := change.Add(-1).Zone()
	_, after := change.Zone()
	return time.Duration(before-after) * time.Second
}
