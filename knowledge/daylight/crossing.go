package daylight

import (
	"math"
	"sort"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/place"
)

// Season says which way the day goes.
type Season string

// The seasons, by the place's own hemisphere; the equator counts as northern.
const (
	Spring Season = "spring" // the day lengthens
	Autumn Season = "autumn" // the day shortens
)

// Passage is one day on which the light passes a length.
type Passage struct {
	Season Season
	On     calendar.Day
}

// Crossing gives the day of a calendar year on which the light passes a length in hours: in spring the first that is
// longer, in autumn the first that is shorter. ok is false where no day of that year does.
func Crossing(p place.Point, hours float64, season Season, year int, def Definition) (day calendar.Day, ok bool) {
	if c, ok := find(p, hours, season, year, def); ok {
		return c.day, true
	}
	return 0, false
}

// Crossings gives the crossings of both seasons in the order of the year: two, one or none.
func Crossings(p place.Point, hours float64, year int, def Definition) []Passage {
	var found []Passage
	for _, season := range []Season{Spring, Autumn} {
		if day, ok := Crossing(p, hours, season, year, def); ok {
			found = append(found, Passage{season, day})
		}
	}
	sort.Slice(found, func(i, j int) bool { return found[i].On < found[j].On })
	return found
}

// DaysPerDegree gives by how many days the crossing moves if the place lies one degree further north or south, whichever
// is more. It is +Inf where the light does not pass the length there, and 0 where it does not pass it at the place itself.
func DaysPerDegree(p place.Point, hours float64, season Season, year int, def Definition) float64 {
	here, ok := find(p, hours, season, year, def)
	if !ok {
		return 0
	}
	most := 0.0
	for _, lat := range []float64{p.Lat - 1, p.Lat + 1} {
		there := here
		there.point.Lat = min(max(lat, -90), 90)
		if !there.search() {
			return math.Inf(1)
		}
		most = max(most, math.Abs(there.moment()-here.moment()))
	}
	return most
}

// crossing is the search for one crossing between two extreme days.
type crossing struct {
	point       place.Point
	def         Definition
	hours       float64
	sign        float64      // +1 lengthening, −1 shortening
	first, last calendar.Day // where it may lie: a solstice less slack to the next one and slack
	day         calendar.Day // what was found
}

const (
	slack  = 4 // days by which the longest or shortest day may miss the days taken as solstices
	oneWay = 4 // degrees of latitude from which the length goes one way between the extreme days
)

// find searches the half years that touch the calendar year.
func find(p place.Point, hours float64, season Season, year int, def Definition) (crossing, bool) {
	c := crossing{point: p, def: def, hours: hours, sign: 1}
	if season == Autumn {
		c.sign = -1
	}
	june := func(y int) calendar.Day { return calendar.DayOf(y, time.June, 21) }
	december := func(y int) calendar.Day { return calendar.DayOf(y, time.December, 22) }
	halves := [][2]calendar.Day{{december(year - 1), june(year)}, {december(year), june(year + 1)}}
	if (season == Autumn) != p.South() {
		halves = [][2]calendar.Day{{june(year), december(year)}}
	}
	for _, half := range halves {
		c.first, c.last = half[0]-slack, half[1]+slack
		if !c.oneWay() { // an earlier crossing must not hide one of this year
			c.first = max(c.first, calendar.DayOf(year, time.January, 1)-1)
		}
		if c.search() && c.day.Year() == year {
			return c, true
		}
	}
	return crossing{}, false
}

// oneWay reports whether the length only grows, or only shrinks, between the extreme days. Close to the equator it does
// not; the latitude is reckoned from the altitudes of the definitions and held by a test that looks at each day.
func (c *crossing) oneWay() bool { return math.Abs(c.point.Lat) >= oneWay }

// search sets day. It bisects with the Sun of noon, a third of the work, and steps to the exact day from there; where the
// length goes both ways it looks at each day.
func (c *crossing) search() bool {
	step := calendar.Day(1)
	c.day = c.first
	if c.oneWay() {
		turned := c.first + 2*slack // the extreme day is behind
		rough := func(i int) bool { return c.sign*(c.rough(turned.Add(i))-c.hours) > 0 }
		c.day, step = turned.Add(sort.Search(c.last.Sub(turned)-slack, rough)), -1
	}
	for ; c.past(c.day); c.day += step {
		if c.day < c.first || c.day > c.last {
			return false
		}
	}
	for ; c.day <= c.last; c.day++ {
		if c.past(c.day) {
			return true
		}
	}
	return false
}

// past reports whether the day lies beyond the length.
func (c *crossing) past(d calendar.Day) bool { return c.sign*(Hours(c.point, d, c.def)-c.hours) > 0 }

// rough gives the length to about a minute, taking the Sun to stand still from rise to set.
func (c *crossing) rough(d calendar.Day) float64 {
	morning, evening := c.def.sines()
	sinLat, cosLat := math.Sincos(c.point.Lat * degree)
	s := sunAt(epoch(c.point, d))
	sinDec, cosDec, _ := s.position(0)
	return 24 * (turn(morning, sinLat, cosLat, sinDec, cosDec) + turn(evening, sinLat, cosLat, sinDec, cosDec))
}

// moment gives the crossing with its fraction of a day.
func (c *crossing) moment() float64 {
	before, after := Hours(c.point, c.day-1, c.def), Hours(c.point, c.day, c.def)
	return float64(c.day) - (after-c.hours)/(after-before)
}
