package crop

import (
	"math"

	"shortday/knowledge/calendar"
)

// The widths of windows, as standard deviations in days. A window is nine in ten: 1.645 deviations to either side.
// No published figure exists for most of them; these are our own reckoning, set so that the published cases in
// testdata/published fall inside, and a member's own records narrow them.
const (
	nineInTen = 1.645

	yearToYear     = 5.0  // one variety in one place, from year to year
	placeToPlace   = 5.0  // between members of a co-op
	keyWidth       = 7.0  // a dated stop
	naturalWidth   = 8.0  // a printed natural bloom day
	classWidth     = 11.0 // a season class is a month: ±18 days
	nothingWidth   = 21.0
	responseWidth  = 4.0  // response groups step by half weeks
	unknownGroup   = 10.0 // controlled days, response group not known
	classElsewhere = 10.0 // a class used far from where it was written for
	// Evidence from another latitude without temperatures. US Plant Patent 8,756: one clone bloomed five weeks apart at
	// 36.7° N on a cool coast and at 40.3° N with hot nights, which no day length explains. Weakly short-day earlies
	// carry all of it, mid and late varieties, which wait for the day, part.
	earlyElsewhere = 24.0
	dayElsewhere   = 14.0
	farDegrees     = 2.0 // from how many degrees of latitude evidence counts as from elsewhere
)

// stopTolerance is how far to either side of its day a planned stop still leads to the bloom, in days.
const stopTolerance = 3

// learnt is the deviation of a forecast from n records of the same thing.
func learnt(deviation float64, n int) float64 { return deviation * math.Sqrt(1+1/float64(n)) }

// within gives the nine-in-ten window around a day.
func within(likely calendar.Day, deviation float64) calendar.Window {
	half := int(math.Round(nineInTen * deviation))
	return calendar.Window{Earliest: likely.Add(-half), Likely: likely, Latest: likely.Add(half)}
}

// blend joins two independent windows of one event, each weighed by its precision.
func blend(a, b calendar.Window) calendar.Window {
	precision := func(w calendar.Window) float64 {
		half := float64(w.Latest.Sub(w.Earliest)+1) / 2
		return 1 / (half * half)
	}
	pa, pb := precision(a), precision(b)
	likely := a.Likely.Add(int(math.Round(pb / (pa + pb) * float64(b.Likely.Sub(a.Likely)))))
	half := int(math.Round(1 / math.Sqrt(pa+pb)))
	return calendar.Window{Earliest: likely.Add(-half), Likely: likely, Latest: likely.Add(half)}
}
