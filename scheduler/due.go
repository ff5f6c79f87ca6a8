package scheduler

import (
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Owed is what is to be struck at an instant: one stroke, and the days before it that were missed and go with it.
type Owed struct {
	Stroke
	Missed []calendar.Day // in order
}

// Due gives what is owed now, the zero Owed where nothing is. The local day last struck keeps a day from being struck
// twice, whatever became of hour and zone since; where there is none the newest stroke alone is owed. A clock that
// reads earlier than the last instant the register holds is a Later fault, told in now's location, and nothing is owed.
func Due(times Times, last calendar.Day, lastInstant, now time.Time) (Owed, error) {
	const stamp = "15:04:05 on Mon 2 Jan 2006"
	if now.Before(lastInstant) {
		return Owed{}, fault.New(fault.Later,
			"The clock says %s, yet the register holds an entry of %s. No notice goes out until the clock is set right.",
			now.Format(stamp), lastInstant.In(now.Location()).Format(stamp))
	}
	if last.IsZero() {
		return Owed{Stroke: times.Last(now)}, nil
	}
	var owed Owed
	for s := range times.strokes(last.Add(1)) {
		if s.At.After(now) {
			break
		}
		if !owed.IsZero() {
			owed.Missed = append(owed.Missed, owed.Day)
		}
		owed.Stroke = s
	}
	return owed, nil
}

// Settle gives the local day to hold as last struck when one co-op's or member's times are replaced, or first set, in
// which case old and last are zero. What has passed by the new times is not owed, save from the first day on that the
// old ones still owe: so today's stroke is neither lost nor repeated by a new hour or zone.
func Settle(old, set Times, last calendar.Day, now time.Time) calendar.Day {
	settled := set.Last(now).Day
	if owed := old.named(last.Add(1)); !last.IsZero() && !owed.IsZero() {
		settled = min(settled, owed.Add(-1))
	}
	return max(last, settled)
}
