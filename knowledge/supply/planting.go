// Package supply reckons what a co-op can promise: stems a week from the windows in which its plantings bloom, and which
// plantings meet a wish for stems every week. It knows no storage, no clock and no chance: the same question has the same
// answer.
//
// The model: a planting comes to full bloom on one day, all its stems in that week. Its lateness, counted in deviations of
// its own window, has three parts: one that all plantings of a season share (the weather), one that those of one variety
// share (what is not known of it), and one of its own. Early or late by the same share in every part, a window keeps its
// nine in ten; Split says how large the parts are.
package supply

import (
	"math"

	"shortday/knowledge/calendar"
	"shortday/knowledge/variety"
)

// Planting is stems that come to bloom together.
type Planting struct {
	ID      int64 // its lateness is drawn by it, so that it does not hang on what else is asked about
	Variety int64
	Season  variety.Season
	Stems   int
	Window  calendar.Window // one day: it has bloomed or was picked, and counts as it was
}

// nineInTen is how many deviations lie to either side of the likely day in a window, see calendar.Window.
const nineInTen = 1.645

// reach is a window as deviations in days to the early and the late side.
func reach(w calendar.Window) (early, late float64) {
	return float64(w.Likely.Sub(w.Earliest)) / nineInTen, float64(w.Latest.Sub(w.Likely)) / nineInTen
}

// moved is by how many days a planting is off its likely day, by its lateness in deviations.
func moved(z, early, late float64) int {
	if z < 0 {
		return int(math.Floor(z*early + 0.5))
	}
	return int(math.Floor(z*late + 0.5))
}

// Chance is that of a bloom between two days, by its window.
func Chance(w calendar.Window, from, to calendar.Day) float64 {
	if w.IsZero() {
		return 0
	}
	early, late := reach(w)
	before := func(day calendar.Day) float64 { // that it comes before the day
		off := float64(day.Sub(w.Likely)) - 0.5
		side := late
		if off < 0 {
			side = early
		}
		if side == 0 {
			if off < 0 {
				return 0
			}
			return 1
		}
		return math.Erfc(-off/side/math.Sqrt2) / 2
	}
	return max(0, before(to.Add(1))-before(from))
}
