package calendar

import "time"

// At gives the instant at which an hour strikes on a day in a zone. An hour that a clock change skips strikes at the
// change, and of an hour that comes twice the first counts. ok is false for a day that the zone never had, as Apia never
// had 30 December 2011; the instant is then the change that skipped it.
func At(d Day, hour, minute int, zone *time.Location) (t time.Time, ok bool) {
	year, month, day := d.Date()
	t = time.Date(year, month, day, hour, minute, 0, 0, zone)
	if shows(t, d, hour, minute) {
		return first(t), true
	}
	change := nearestChange(t)
	return change, !(DayAt(change.Add(-1)) < d && d < DayAt(change))
}

func shows(t time.Time, d Day, hour, minute int) bool {
	return DayAt(t) == d && t.Hour() == hour && t.Minute() == minute
}

// first gives the earlier of two instants that show the same clock; time.Date gives the first in some zones and the
// second in others.
func first(t time.Time) time.Time {
	start, _ := t.ZoneBounds()
	if start.IsZero() {
		return t
	}
	_, before := start.Add(-1).Zone()
	_, now := t.Zone()
	if earlier := t.Add(time.Duration(now-before) * time.Second); earlier.Before(start) {
		return earlier
	}
	return t
}

// nearestChange gives the change that skipped an hour; time.Date lands before the gap in some zones and after it in others.
func nearestChange(t time.Time) time.Time {
	start, end := t.ZoneBounds()
	if end.IsZero() || t.Sub(start) < end.Sub(t) {
		return start // it landed after the gap
	}
	return end
}
