package crop

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/place"
)

// WakeFor gives the two steps that lead to cuttings on a day: watering the box on the evening before, and waking.
func WakeFor(cuttings calendar.Window, p place.Place) []Step {
	wake := waking(p)
	woken := cuttings.Before(wake.span)
	return []Step{
		{Kind: WakeWater, Window: woken.Shift(-1), Basis: Handbook, Rule: "the evening before stools are taken out to wake", Source: common},
		{Kind: Wake, Window: woken, Basis: Handbook, Rule: wake.text, Source: wake.source},
	}
}

// CutAfter gives when stools woken in a window give cuttings.
func CutAfter(woken calendar.Window, p place.Place) Step {
	wake := waking(p)
	return Step{Kind: Cut, Window: woken.After(wake.span), Basis: Handbook, Rule: wake.text, Source: wake.source}
}
