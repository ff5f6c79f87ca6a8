package crop

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/place"
)

// RootAfter gives when cuttings struck in a window have rooted and can be potted.
func RootAfter(struck calendar.Window, p place.Place) Step {
	d := draft{Case: Case{Place: p}}
	root := rooting(p, d.dark(struck.Likely))
	return Step{Kind: Pot, Window: struck.After(root.span), Basis: Handbook, Rule: root.text, Source: root.source}
}
