// Package scheduler says which jobs are due, what a notice says, and when each co-op and member is struck.
// It leaves what is recorded to the register, and how a notice is shown to the platforms.
package scheduler

import (
	"iter"
	"time"

	"github.com/robfig/cron/v3"

	"shortday/knowledge/calendar"
)

// Stroke is one striking of the hour. Day is the local day whose hour it is: the clock may already show the next day
// where a change skips the end of one.
type Stroke struct {
	Day calendar.Day
	At  time.Time // in the zone of its Times
}

// IsZero reports whether there is no stroke.
func (s Stroke) IsZero() bool { return s.Day.IsZero() }

// Times are the hours at which one co-op or member is struck: one hour of the wall clock of a zone, on the days that a
// rule names. An hour that a clock change skips is struck at the change, an hour that comes twice at the first, and a
// day that the zone never had is not struck. The zero Times are never struck.
type Times struct {
	// wall runs over an even clock, whose UTC stands for the wall clock of the zone: by itself cron skips an hour that
	// does not exist and strikes twice one that comes twice.
	wall cron.Schedule
	hour Hour
	zone *time.Location
	text string
}

// String gives the times as ReadTimes reads them: "07:00", "Mon, Thu 07:00", "weekdays 06:30", or five cron fields.
func (t Times) String() string { return t.text }

// Next gives the first stroke strictly later than an instant.
func (t Times) Next(after time.Time) Stroke {
	for s := range t.later(0, after) {
		return s
	}
	return Stroke{}
}

// Last gives the latest stroke at or before an instant.
func (t Times) Last(by time.Time) Stroke {
	const longest = 8 * 366 // 29 February 1896 to 1904
	var last Stroke
	for back := 1; last.IsZero() && back < 2*longest && t.wall != nil; back *= 2 {
		for s := range t.strokes(calendar.DayAt(by.In(t.zone)).Add(-back)) {
			if s.At.After(by) {
				break
			}
			last = s
		}
	}
	return last
}

// Upcoming gives the next n strokes strictly later than an instant. None of them is of the day last struck or before
// it; no day means that none has been struck.
func Upcoming(times Times, last calendar.Day, from time.Time, n int) []Stroke {
	upcoming := make([]Stroke, 0, n)
	for s := range times.later(last, from) {
		if len(upcoming) == n {
			break
		}
		upcoming = append(upcoming, s)
	}
	return upcoming
}

// later gives, in order, the strokes after an instant and of days after the day last struck.
func (t Times) later(last calendar.Day, after time.Time) iter.Seq[Stroke] {
	return func(yield func(Stroke) bool) {
		if t.wall == nil {
			return
		}
		for s := range t.strokes(max(last.Add(1), calendar.DayAt(after.In(t.zone)))) {
			if s.At.After(after) && !yield(s) {
				return
			}
		}
	}
}

// strokes gives, in order, the strokes of a day and of all days after it.
func (t Times) strokes(from calendar.Day) iter.Seq[Stroke] {
	return func(yield func(Stroke) bool) {
		for d := t.named(from); !d.IsZero(); d = t.named(d.Add(1)) {
			if at, ok := t.hour.on(d, t.zone); ok && !yield(Stroke{d, at}) {
				return
			}
		}
	}
}

// named gives the first day from one on that the rule names, whether or not the zone has it; no day where none follows.
func (t Times) named(from calendar.Day) calendar.Day {
	if t.wall == nil {
		return 0
	}
	// Cron gives up after five years; 29 February can be eight away.
	for _, d := range []calendar.Day{from, from.Add(5 * 365)} {
		if at := t.wall.Next(d.UTC().Add(-time.Second)); !at.IsZero() {
			return calendar.DayAt(at)
		}
	}
	return 0
}
