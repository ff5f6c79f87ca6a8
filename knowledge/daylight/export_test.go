package daylight

import "math"

// HoursOf gives the length of a day from latitude and declination in radians alone, the Sun's centre on the horizon and
// no refraction, for checks whose formula knows no more.
func HoursOf(lat, declination float64) float64 {
	sinLat, cosLat := math.Sincos(lat)
	sinDec, cosDec := math.Sincos(declination)
	return 48 * turn(0, sinLat, cosLat, sinDec, cosDec)
}
