package crop

import (
	"fmt"
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
func (c Case) lag(hours, from, to float64) (days int, ok bool) {
	from, to = math.Abs(from), math.Abs(to)
	if from == to {
		return 0, true
	}
	a, okA := c.passed.at(hours, from)
	b, okB := c.passed.at(hours, to)
	return b.Sub(a), okA && okB
}

// passages are the autumn crossings that were reckoned for one plan: most of its time goes into them.
type passages struct{ known []passage }

type passage struct {
	hours, lat float64
	on         calendar.Day
	ok         bool
}

func (p *passages) at(hours, lat float64) (calendar.Day, bool) {
	if p != nil {
		for _, k := range p.known {
			if k.hours == hours && k.lat == lat {
				return k.on, k.ok
			}
		}
	}
	const year = 2027 // any common year: crossings differ by a day at most
	on, ok := daylight.Crossing(place.Point{Lat: lat}, hours, daylight.Autumn, year, daylight.Sunrise)
	if p != nil {
		p.known = append(p.known, passage{hours, lat, on, ok})
	}
	return on, ok
}

// degrees writes a latitude: "52° N".
func degrees(lat float64) string {
	if lat < 0 {
		return fmt.Sprintf("%g° S", math.Round(-lat*10)/10)
	}
	return fmt.Sprintf("%g° N", math.Round(lat*10)/10)
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
