package requests

import (
	"fmt"
	"math"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

// readPlace changes a place by the fields place, zone, last-frost and first-frost. A position that is known outlasts
// a zone told later.
func readPlace(in *bot.In, at *place.Place) {
	if zone := bot.Take(in, "zone", place.OfZone); zone.Zone != "" {
		at.Zone = zone.Zone
		if !at.Exact {
			at.Point = zone.Point
		}
	}
	if in.Has("place") {
		at.Point, at.Exact = bot.Take(in, "place", place.Parse), true
	}
	put(in, "last-frost", &at.LastFrost, in.Annual)
	put(in, "first-frost", &at.FirstFrost, in.Annual)
}

func placeFacts(at place.Place) []fact {
	where := fact{"place", at.Point.String(), "as given"}
	switch {
	case !at.Known():
		where = fact{"place", "", "not known"}
	case !at.Exact:
		where = fact{"place", roughly(at.Point), "the zone's reference point stands in"}
	}
	return []fact{{"zone", at.Zone, "the time zone"}, where,
		{"last-frost", at.LastFrost.String(), "of spring"},
		{"first-frost", at.FirstFrost.String(), "of autumn"}}
}

// roughly writes a position that only stands in: to a tenth of a degree.
func roughly(p place.Point) string { return fmt.Sprintf("%.1f,%.1f", p.Lat, p.Lon) }

// flowerHours is the day length that standsIn and daysThere go by: the usual one below which lates go on to flower.
func flowerHours() float64 {
	critical, _ := variety.Variety{}.CriticalOrDefault()
	return critical.Flower
}

// standsIn says what it may cost that a zone's reference point stands in for the position.
func standsIn(at place.Place) string {
	text := fmt.Sprintf("Until then the reference point of %s stands in, %s", at.Zone, roughly(at.Point))
	days := daylight.DaysPerDegree(at.Point, flowerHours(), daylight.Autumn, 2027, daylight.Sunrise)
	if days <= 0 || math.IsInf(days, 0) {
		return text + "; how many days that may cost cannot be said so near to where the days hardly change."
	}
	return text + fmt.Sprintf("; each degree of latitude between it and you may move dates by %.1f days.", days)
}

// daysThere tells how long the days of a place are, and from when on they are short for most varieties.
func daysThere(at place.Place, today calendar.Day) string {
	if !at.Known() {
		return ""
	}
	shortest, longest := 24.0, 0.0
	for day := today; day < today.Add(365); day++ {
		hours := daylight.Hours(at.Point, day, daylight.Sunrise)
		shortest, longest = min(shortest, hours), max(longest, hours)
	}
	text := fmt.Sprintf("The days there last %.1f to %.1f h, %s.", shortest, longest, daylight.Sunrise.Describe())
	for _, year := range []int{today.Year(), today.Year() + 1} {
		if day, ok := daylight.Crossing(at.Point, flowerHours(), daylight.Autumn, year, daylight.Sunrise); ok && day >= today {
			return text + fmt.Sprintf(" From %s on they are shorter than %g h, and most varieties go on to flower.", day.Long(), flowerHours())
		}
	}
	return text
}

// doubted is a question about a position, with the request that would put it right.
type doubted struct {
	text string
	next []bot.Next
}

// doubt asks whether a sign was forgotten: where the position lies far from its zone's reference point, and the one with
// a sign turned does not.
func doubt(request string, at place.Place) doubted {
	zone, err := place.OfZone(at.Zone)
	if err != nil || !at.Exact {
		return doubted{}
	}
	turned := place.Point{Lat: unturned(at.Lat, zone.Lat), Lon: unturned(at.Lon, zone.Lon)}
	if turned == at.Point {
		return doubted{}
	}
	return doubted{
		text: fmt.Sprintf("%s is far from %s; was %s meant? West and south have a minus sign.", at.Point, at.Zone, turned),
		next: []bot.Next{{Label: "Yes, " + turned.String(), Request: bot.Typed(request, "place", turned.String())}},
	}
}

// unturned gives an angle with its sign turned where that brings it from far off to near the angle it should be close to.
func unturned(degrees, near float64) float64 {
	off := func(x float64) float64 { return math.Abs(math.Remainder(x-near, 360)) }
	if off(degrees) > 10 && 3*off(-degrees) < off(degrees) {
		return -degrees
	}
	return degrees
}

// readLatitude reads a latitude alone, or takes that of a whole position: "52", "43.6 S", "53.1,-6.7".
func readLatitude(text string) (float64, error) {
	for _, tail := range []string{"", ",0", " 0E"} {
		if p, err := place.Parse(text + tail); err == nil {
			return p.Lat, nil
		}
	}
	return 0, fault.New(fault.Unclear, "%q is no latitude. Write it as in 52.1 or \"43.6 S\".", text)
}

// latitude writes one as people read it: "52° N".
func latitude(lat float64) string {
	side := "N"
	if lat < 0 {
		side = "S"
	}
	return fmt.Sprintf("%g° %s", math.Round(math.Abs(lat)*10)/10, side)
}

// latitudeOf gives the latitude that a field names, else that of where the asker grows.
func latitudeOf(in *bot.In, field string, at place.Place) float64 {
	if in.Has(field) {
		return bot.Take(in, field, readLatitude)
	}
	if !at.Known() && in.Err() == nil {
		in.Fail(fault.New(fault.Unclear, "For which latitude does that day hold? Add it, as in %s:52, or tell where you grow with /grower place.", field))
	}
	return at.Lat
}
