package daylight

import "math"

const degree = math.Pi / 180

// sun holds what hardly changes of the Sun's motion within a day, so that the two events of a day can share it.
// Meeus, Astronomical Algorithms, 2nd ed., ch. 25 (low accuracy, 0.01°) and 28, the series of NOAA's solar calculator.
type sun struct {
	longitude, anomaly float64    // mean, in degrees at the epoch
	centre             [3]float64 // equation of the centre: degrees on sin M, sin 2M, sin 3M
	nutation           float64    // in longitude, degrees
	sinTilt, cosTilt   float64    // of the true obliquity
}

const (
	aberration    = -0.00569   // degrees
	longitudeRate = 0.98564736 // degrees a day
	anomalyRate   = 0.98560028
)

// sunAt takes the epoch in days from 2000-01-01 12:00 UTC.
func sunAt(epoch float64) sun {
	t := epoch / 36525
	sinNode, cosNode := math.Sincos((125.04 - 1934.136*t) * degree)
	tilt := 23.4392911 - 0.0130042*t + 0.00256*cosNode
	s := sun{
		longitude: 280.46646 + t*(36000.76983+0.0003032*t),
		anomaly:   357.52911 + t*(35999.05029-0.0001537*t),
		centre:    [3]float64{1.914602 - t*(0.004817+0.000014*t), 0.019993 - 0.000101*t, 0.000289},
		nutation:  -0.00478 * sinNode,
	}
	s.sinTilt, s.cosTilt = math.Sincos(tilt * degree)
	return s
}

// position gives the Sun's declination and the equation of time (apparent less mean, in days) so many days after the epoch.
func (s *sun) position(days float64) (sinDec, cosDec, equation float64) {
	mean := s.longitude + longitudeRate*days
	sin, cos := math.Sincos((s.anomaly + anomalyRate*days) * degree)
	centre := s.centre[0]*sin + s.centre[1]*2*sin*cos + s.centre[2]*sin*(3-4*sin*sin)
	sinLon, cosLon := math.Sincos((mean + centre + aberration + s.nutation) * degree)

	sinDec = s.sinTilt * sinLon
	ascension := math.Atan2(s.cosTilt*sinLon, cosLon) / degree
	equation = math.Remainder(mean+aberration-ascension+s.nutation*s.cosTilt, 360) / 360
	return sinDec, math.Sqrt(1 - sinDec*sinDec), equation
}
