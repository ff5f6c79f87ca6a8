package supply

import "math"

// Seasons is over how many seasons supply is counted. They are drawn from fixed seeds, each part of the lateness spread
// evenly over its bell, so that a band of nine in ten has an error of about one season in a hundred.
const Seasons = 2048

// bell gives the lateness of Seasons equally likely cases, in deviations.
func bell() *[Seasons]float64 {
	var z [Seasons]float64
	for i := range z {
		z[i] = math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/Seasons-1)
	}
	return &z
}

// The parts of a season that are drawn, each with a seed of its own.
const (
	weather = iota + 1
	ofVariety
	ofPlanting
)

// order is a mixed order of the seasons: at gives each of 0…Seasons-1 once.
type order struct{ x, m, a, n, b uint32 }

func orderOf(part, id int64) order {
	s := uint64(part)<<56 ^ uint64(id)
	next := func() uint32 { // splitmix64 (Steele, Lea & Flood 2014)
		s += 0x9e3779b97f4a7c15
		z := s
		z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return uint32((z ^ z>>31) >> 32)
	}
	return order{x: next(), m: next() | 1, a: next(), n: next() | 1, b: next()}
}

func (o order) at(k int) int {
	const mask = Seasons - 1
	x := ((uint32(k)^o.x)*o.m + o.a) & mask
	x = (x ^ x>>5) * o.n & mask
	x = ((x^x>>6)*0x2c5 + o.b) & mask
	return int(x ^ x>>4)
}
