// Package place holds where a member grows: the position, its frost days, and what the place is equipped with.
// It leaves the sun to daylight.
package place

import "shortday/knowledge/calendar"

// Point is a position in decimal degrees, north and east positive.
type Point struct {
	Lat, Lon float64
}

// South reports whether the point's seasons are those of the southern hemisphere.
func (p Point) South() bool { return p.Lat < 0 }

// Place is where a member grows.
type Place struct {
	Point
	Zone string // IANA name
	// Exact is false while the zone's reference point stands in for a position that was not given.
	Exact bool

	LastFrost, FirstFrost calendar.Annual // last of spring, first of autumn; none while not known

	Cover      bool // a glasshouse, tunnel or other frost-free roof to bring lates under
	BottomHeat bool // a heated propagator or bench
	WinterHeat bool // can be kept near 16 °C in winter
	BlackOut   bool // can cover plants from the light
	Lights     bool // can light plants at night
}

// Known reports whether anything of the position is known.
func (p Place) Known() bool { return p.Zone != "" || p.Exact }
