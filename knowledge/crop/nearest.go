package crop

import "shortday/knowledge/calendar"

// NearestReach is how far from the days wanted others of the same season are looked for, in days.
const NearestReach = 120

// Nearest gives the days nearest to those wanted, as many of them, on which the bloom of the same season can still be had
// from today; ok is false where there are none.
func Nearest(c Case, today calendar.Day) (near Target, ok bool) {
	if r := Backwards(c, today).Refusal; r != nil && !r.Nearest.IsZero() {
		if near, ok := c.works(r.Nearest, r.Way, today); ok {
			return near, true
		}
	}
	for off := range NearestReach {
		for _, from := range []calendar.Day{c.Wanted.From.Add(off), c.Wanted.From.Add(-off)} {
			if near, ok := c.works(from, c.Wanted.Way, today); ok {
				return near, true
			}
		}
	}
	return Target{}, false
}

// First gives the first days from those wanted on, as many of them, on which a bloom can be had from today, if there are
// any that begin within so many days.
func First(c Case, within int, today calendar.Day) (first Target, ok bool) {
	for off := range within {
		if first, ok := c.works(c.Wanted.From.Add(off), c.Wanted.Way, today); ok {
			return first, true
		}
	}
	return Target{}, false
}

// works reports whether a bloom can be had from today on as many days as are wanted, from another day on, and is not
// reckoned to come after them.
func (c Case) works(from calendar.Day, way Way, today calendar.Day) (Target, bool) {
	if from <= today {
		return Target{}, false
	}
	c.Wanted = Target{From: from, To: from.Add(c.Wanted.To.Sub(c.Wanted.From)), Way: way}
	plan := Backwards(c, today)
	return c.Wanted, plan.Refusal == nil && plan.Missed == "" && plan.Bloom.Window.Likely <= c.Wanted.To
}
