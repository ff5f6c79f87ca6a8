package health

import "shortday/knowledge/calendar"

// ApartDays is how long new stock stands apart unless the co-op says otherwise: as long as white rust stays hidden.
const ApartDays = 56

// HeldUntil gives the last day on which a batch that may carry the pest is held back from swaps, if nobody clears it:
// the day by which it would have shown.
func (p Pest) HeldUntil(seen calendar.Day) calendar.Day {
	return seen.Add(max(p.Hidden.BackMax, p.Hidden.Forward))
}

// Apart is the time for which a batch that came in stands apart.
type Apart struct {
	From, Until calendar.Day   // Until is the last day: it may be passed on from the day after
	Looks       []calendar.Day // weekly, and on the last day
}

// StandApart gives the time for which a batch received on a day stands apart; none for no days or fewer.
func StandApart(received calendar.Day, days int) Apart {
	a := Apart{From: received, Until: received.Add(max(0, days))}
	for look := received.Add(7); look < a.Until; look = look.Add(7) {
		a.Looks = append(a.Looks, look)
	}
	if a.Until > received {
		a.Looks = append(a.Looks, a.Until)
	}
	return a
}

// Over reports whether the batch may be passed on.
func (a Apart) Over(today calendar.Day) bool { return a.Until == a.From || today > a.Until }
