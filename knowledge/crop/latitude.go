package crop

import (
	"math"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

// handbookLat is where the calendar rules of British handbooks and the NCS classes were written for.
const handbookLat = 52.0

// mirrored carries a day of the year between the hemispheres: half a year on, where the latitudes' signs differ.
func mirrored(a calendar.Annual, from, to float64) calendar.Annual {
	if a.IsZero() || (from < 0) == (to < 0) {
		return a
	}
	a.Month = (a.Month+5)%12 + 1
	if last := calendar.DayOf(2001, a.Month+1, 0).Annual().Day; a.Day > last {
		a.Day = last
	}
	return a
}

// lag is by how many days the autumn day falls below a length later at one latitude than at another, the sign of the
// latitudes left aside. ok is false where either never passes that length.
func lag(hours, from, to float64) (days int, ok bool) {
	from, to = math.Abs(from), math.Abs(to)
	if from == to {
		return 0, true
	}
	const year = 2027 // any common year: crossings differ by a day at most
	a, okA := daylight.Crossing(place.Point{Lat: from}, hours, daylight.Autumn, year, daylight.Sunrise)
	b, okB := daylight.Crossing(place.Point{Lat: to}, hours, daylight.Autumn, year, daylight.Sunrise)
	return b.Sub(a), okA && okB
}

// far reports whether evidence from one latitude is from elsewhere for another.
func far(from, to float64) bool { return math.Abs(math.Abs(from)-math.Abs(to)) >= farDegrees }

// rulebook gives a handbook's calendar day at a place, in the occurrence nearest to a day: half a year on in the south.
func rulebook(month time.Month, day int, p place.Place, near calendar.Day) calendar.Day {
	return mirrored(calendar.Annual{Month: month, Day: day}, handbookLat, p.Lat).Nearest(near)
}

func critical(c Case) variety.Critical {
	lengths, _ := c.Variety.CriticalOrDefault()
	return lengths
}
