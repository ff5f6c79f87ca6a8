package crop

import (
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/variety"
)

// safeLat is the latitude the last safe stops were printed for.
const safeLat = 40.0

const (
	safeSource = "Red Bluff Garden Club, July 2009; Christian Science Monitor, June 2008"
	lostBySafe = "shoots of a later stop are too short and too soft to bloom well before the season ends"
)

// LastSafeStop is the last stop by the handbook, in the season nearest to a day: 15 July for large flowers, 15 August
// for late small ones, 4 July where the first frost comes before 20 September, all at 40° N. Day length moves it to an
// earlier day, never to a later one than was printed.
func LastSafeStop(c Case, near calendar.Day) calendar.Day {
	a := calendar.Annual{Month: time.July, Day: 15}
	season, _ := c.Variety.SeasonOrGuess()
	switch {
	case coldDistrict(c):
		a = calendar.Annual{Month: time.July, Day: 4}
	case season == variety.Late && small(c.Variety):
		a = calendar.Annual{Month: time.August, Day: 15}
	}
	day := mirrored(a, safeLat, c.Place.Lat).Nearest(near)
	if c.Place.Known() {
		if days, ok := c.lag(critical(c).Flower, safeLat, c.Place.Lat); ok {
			day = day.Add(min(days, 0))
		}
	}
	return day
}

func coldDistrict(c Case) bool {
	if c.Place.FirstFrost.IsZero() || c.Place.Cover {
		return false
	}
	frost := mirrored(c.Place.FirstFrost, c.Place.Lat, handbookLat)
	return frost.In(2001) > calendar.DayOf(2001, time.July, 1) && frost.In(2001) < calendar.DayOf(2001, time.September, 20)
}

// small reports whether the form is a small-flowered one.
func small(v variety.Variety) bool {
	switch form, _ := v.FormOrGuess(); form {
	case variety.Spray, variety.Pompon, variety.CharmCascade, variety.Single, variety.Anemone:
		return true
	}
	return false
}
