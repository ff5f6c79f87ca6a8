package scheduler

import (
	"strings"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Quiet are the hours of the wall clock, across midnight where To is the earlier, in which a member is told nothing.
// They begin and end as hours are struck: of an hour that comes twice, with the first. From equal to To is none.
type Quiet struct {
	From, To Hour
}

// ReadQuiet reads "22:00-07:00", "10pm to 6.30am", or "none".
func ReadQuiet(text string) (Quiet, error) {
	folded := strings.ToLower(strings.TrimSpace(text))
	if folded == "none" {
		return Quiet{}, nil
	}
	first, last, ok := strings.Cut(strings.NewReplacer("–", "-", " to ", "-").Replace(folded), "-")
	from, err := ReadHour(first)
	to, also := ReadHour(last)
	if !ok || err != nil || also != nil || from == to {
		return Quiet{}, fault.New(fault.Unclear,
			"%q are not quiet hours. Write two different hours, as in 22:00-07:00, or none.", clip(text))
	}
	return Quiet{from, to}, nil
}

// String gives the hours as ReadQuiet reads them.
func (q Quiet) String() string {
	if q.From == q.To {
		return "none"
	}
	return q.From.String() + "-" + q.To.String()
}

// Delay gives the first instant from t on that is not quiet by the clock of t's own location.
func (q Quiet) Delay(t time.Time) time.Time {
	if q.From == q.To {
		return t
	}
	today := calendar.DayAt(t)
	// From two days before: where a day never was, the hours that began the day before it are still running.
	for d := today.Add(-2); d <= today.Add(1); d = d.Add(1) {
		from, ok := q.From.on(d, t.Location())
		if ok && !t.Before(from) {
			t = latest(t, q.end(d, t.Location()))
		}
	}
	return t
}

// end gives the instant at which the hours that begin on a day end.
func (q Quiet) end(d calendar.Day, zone *time.Location) time.Time {
	if q.To < q.From {
		d = d.Add(1)
	}
	for ; ; d = d.Add(1) {
		if to, ok := q.To.on(d, zone); ok {
			return to
		}
	}
}

func latest(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}
