package crop

import "shortday/knowledge/calendar"

// The least times that no step may fall short of, in days, where they are not the shortest of a rule's span.
const (
	smallPot  = 28 // in the 9 cm pot, the shorter of 4–5 weeks (NCS (UK), Exhibition Incurve Blooms)
	growOn    = 21 // from then to about 20 cm, at the quickest; our own reckoning
	hardening = 14 // from the cold frame to the open; common practice
	rootThere = 14 // from one pot to the next move; common practice
)

// toStop is the least time from potting the rooted cutting to the stop.
const toStop = smallPot + growOn

// quickest is the least time from striking on a day to the stop: in controlled crops by way of the bed, else by that of
// the small pot, where roots take their usual time, which nobody hurries.
func (d *draft) quickest(struck calendar.Day) int {
	if d.quick() {
		return strikeToPlant().span.Min + plantToPinch().span.Min
	}
	return rooting(d.Place, d.dark(struck)).span.Likely + toStop
}

// lastStrike is the last day of striking for a stop by a day.
func (d *draft) lastStrike(stop calendar.Day) calendar.Day {
	if stop == 0 {
		return 0
	}
	last := stop.Add(-d.quickest(stop))
	return min(last, stop.Add(-d.quickest(last))) // cuttings root slower in the dark months
}

// lastWake is the last safe day of waking; zero where the stools were woken already, or nothing is too late.
func (d *draft) lastWake() calendar.Day {
	for _, s := range d.Steps {
		if s.Kind == Wake && !s.Done {
			return s.LastSafe
		}
	}
	return 0
}

// soonestStop is the first day on which plants can be stopped after what was done for them, however late that was; zero
// where nothing binds. Of what was done the latest step tells most.
func (d *draft) soonestStop(planned calendar.Day) calendar.Day {
	controlled := d.quick()
	for _, k := range []Kind{PlantOut, Pot, Strike, Cut, Wake, Box} {
		on, ok := d.about(k, planned)
		switch {
		case !ok, k == Box && on > planned: // the end of the year, not its begin
			continue
		case k == PlantOut && controlled:
			return on.Add(plantToPinch().span.Min)
		case k == PlantOut:
			return 0 // grown by somebody else, who knows how tall
		case k == Pot && controlled:
			return on.Add(plantToPinch().span.Min)
		case k == Pot:
			return on.Add(toStop)
		case k == Wake:
			on = on.Add(waking(d.Place).span.Min)
		case k == Box:
			on = on.Add(chilling().span.Min + waking(d.Place).span.Min)
		}
		return on.Add(d.quickest(on))
	}
	return 0
}

// pressed gives when a step comes that follows another: after the usual span, or sooner where the next step presses, but
// never before the least time.
func pressed(from calendar.Window, span calendar.Span, by calendar.Day) calendar.Window {
	w := from.After(span)
	if w.Likely <= by {
		return w
	}
	likely := max(from.Likely.Add(span.Min), by)
	return calendar.Window{Earliest: min(w.Earliest, likely), Likely: likely, Latest: max(likely, min(w.Latest, by))}
}

// notBefore moves a window so that its likely day is no earlier than a day.
func notBefore(w calendar.Window, day calendar.Day) calendar.Window {
	if w.Likely < day {
		w = w.Shift(day.Sub(w.Likely))
	}
	return w
}

// notAfter moves a window so that its likely day is no later than a day.
func notAfter(w calendar.Window, day calendar.Day) calendar.Window {
	if w.Likely > day {
		w = w.Shift(day.Sub(w.Likely))
	}
	return w
}
