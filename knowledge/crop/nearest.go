package crop

import "shortday/knowledge/calendar"

// nearestReach is how far from the days wanted others of the same season are looked for, in days.
const nearestReach = 120

// Nearest gives the days nearest to those wanted, as many of them, on which the bloom of the same season can still be had
// from today; ok is false where there are none.
func Nearest(c Case, today calendar.Day) (near Target, ok bool) {
	works := func(from calendar.Day, way Way) bool {
		if from <= today {
			return false
		}
		near = Target{From: from, To: from.Add(c.Wanted.To.Sub(c.Wanted.From)), Way: way}
		c := c
		c.Wanted = near
		plan := Backwards(c, today)
		return plan.Refusal == nil && plan.Missed == ""
	}
	if r := Backwards(c, today).Refusal; r != nil && !r.Nearest.IsZero() && works(r.Nearest, r.Way) {
		return near, true
	}
	for off := range nearestReach {
		for _, from := range []calendar.Day{c.Wanted.From.Add(off), c.Wanted.From.Add(-off)} {
			if works(from, c.Wanted.Way) {
				return near, true
			}
		}
	}
	return Target{}, false
}
