package daylight

import (
	"math"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/place"
)

// Light is one day's light.
type Light struct {
	// Rise and Set are in UTC; one that does not take place is the zero time. They are those around the point's own mean
	// noon, so that the UTC date may be a day off.
	Rise, Set time.Time
	Hours     float64 // 0 to 24
	Polar     Polar
}

// Polar tells a day that is light or dark throughout.
type Polar string

// The states of a day.
const (
	NotPolar   Polar = ""
	PolarDay   Polar = "polar day"
	PolarNight Polar = "polar night"
)

// On gives the light of a day, good to 10 s up to 60° of latitude.
func On(p place.Point, day calendar.Day, def Definition) Light {
	rise, set := edges(p, day, def)
	light := Light{Hours: between(rise, set)}
	switch light.Hours {
	case 0:
		light.Polar = PolarNight
		return light
	case 24:
		light.Polar = PolarDay
		return light
	}
	noon := float64(day.UTC().Unix()) + 43200 - p.Lon*240
	light.Rise, light.Set = rise.instant(noon), set.instant(noon)
	return light
}

// Hours gives the length of a day in hours, 0 to 24.
func Hours(p place.Point, day calendar.Day, def Definition) float64 {
	return between(edges(p, day, def))
}

// edge is the beginning or the end of light, in days from mean noon.
type edge struct {
	at   float64
	turn float64 // hour angle in turns, 0 to ½: at the ends the Sun does not pass the altitude
}

func (e edge) instant(noon float64) time.Time {
	if e.turn == 0 || e.turn == 0.5 {
		return time.Time{}
	}
	whole, part := math.Modf(noon + e.at*86400)
	return time.Unix(int64(whole), int64(part*1e9)).UTC()
}

func between(rise, set edge) float64 {
	switch {
	case rise.turn == 0 && set.turn == 0:
		return 0
	case rise.turn == 0.5 && set.turn == 0.5:
		return 24
	}
	return min(max(set.at-rise.at, 0), 1) * 24
}

// edges reckons both ends in two passes: the first shares the Sun of mean noon, the second takes that of each end's own time.
func edges(p place.Point, day calendar.Day, def Definition) (rise, set edge) {
	morning, evening := def.sines()
	sinLat, cosLat := math.Sincos(p.Lat * degree)
	s := sunAt(epoch(p, day))
	sinDec, cosDec, equation := s.position(0)
	pass := func(sinAltitude, side float64) edge {
		at := side*turn(sinAltitude, sinLat, cosLat, sinDec, cosDec) - equation
		sinDec, cosDec, equation := s.position(at)
		own := turn(sinAltitude, sinLat, cosLat, sinDec, cosDec)
		return edge{at: side*own - equation, turn: own}
	}
	return pass(morning, -1), pass(evening, 1)
}

// turn gives the hour angle, in turns, at which the Sun stands at an altitude: 0 where it stays below, ½ where it stays above.
func turn(sinAltitude, sinLat, cosLat, sinDec, cosDec float64) float64 {
	cos := (sinAltitude - sinLat*sinDec) / (cosLat * cosDec)
	return math.Acos(min(max(cos, -1), 1)) / (2 * math.Pi)
}

// epoch gives the point's mean noon in days from 2000-01-01 12:00 UTC.
func epoch(p place.Point, day calendar.Day) float64 {
	const j2000 = 730119
	return float64(day.Sub(j2000)) - p.Lon/360
}
