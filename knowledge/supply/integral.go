package supply

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"
)

// The chances of a spread are integrals, not counts: over the lateness that the season shares and that each variety
// shares plantings come or do not come each by itself, and the stems of independent plantings are a plain convolution.
// The lateness is cut into slices of equal chance. Stems are counted in grains so that a week has no more than most of
// them; what is less than a grain is left out, so a chance is never overstated by it.
const (
	seasonSlices  = 40
	varietySlices = 16
	mostGrains    = 200
)

// integral works out chances of a wish, each once.
type integral struct {
	Wish
	season, ofVariety, own float64
	known                  map[string]float64                                   // by the week's flights
	comes                  map[[2]float64]*[seasonSlices][varietySlices]float64 // by the latenesses with which a planting comes
}

func newIntegral(w Wish) *integral {
	g := &integral{Wish: w, known: map[string]float64{}, comes: map[[2]float64]*[seasonSlices][varietySlices]float64{}}
	g.season, g.ofVariety, g.own = w.Split.parts()
	return g
}

// chances gives for each week how sure its stems are.
func (s *search) chances() []float64 {
	plantings := byVariety(s.plantings())
	out := make([]float64, s.Weeks)
	for week := range out {
		out[week] = s.integral.chanceOf(week, plantings)
	}
	return out
}

// plantings gives the spread as plantings, with what blooms anyway.
func (s *search) plantings() []Planting {
	all := slices.Clone(s.Standing)
	for i, n := range s.plants {
		if c := s.Choices[i]; n > 0 {
			all = append(all, Planting{ID: int64(1)<<40 + int64(i), Variety: c.Variety, Stems: n * c.Stems, Window: c.Window})
		}
	}
	return all
}

func byVariety(plantings []Planting) []Planting {
	return slices.SortedStableFunc(slices.Values(plantings), func(a, b Planting) int { return cmp.Compare(a.Variety, b.Variety) })
}

// sure reports whether the weeks of a set, a bit each, all have the certainty; those with least to spare are looked at
// first.
func (s *search) sure(weeks uint32) bool {
	var order []int
	for w := range s.Weeks {
		if weeks>>w&1 == 1 {
			order = append(order, w)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(s.good[a], s.good[b]) })
	plantings := byVariety(s.plantings())
	for _, w := range order {
		if s.integral.chanceOf(w, plantings) < s.Certainty {
			return false
		}
	}
	return true
}

// flight is a planting as the integral takes it: how likely it hits the week, by slice, and how many grains it brings.
type flight struct {
	variety int64
	comes   *[seasonSlices][varietySlices]float64
	grains  int
}

func (g *integral) chanceOf(week int, plantings []Planting) float64 {
	grain := (g.Stems-1)/mostGrains + 1
	full := (g.Stems-1)/grain + 1
	var flights []flight
	var key []byte
	sure := 0
	for _, p := range plantings {
		from, to := g.latenesses(week, p)
		switch grains := min(p.Stems/grain, full); {
		case from >= to || grains == 0:
		case math.IsInf(from, -1) && math.IsInf(to, 1):
			sure += grains
		default:
			flights = append(flights, flight{p.Variety, g.hits(from, to), grains})
			for _, n := range [...]uint64{uint64(p.Variety), math.Float64bits(from), math.Float64bits(to), uint64(grains)} {
				key = binary.LittleEndian.AppendUint64(key, n)
			}
		}
	}
	if sure >= full {
		return 1
	}
	key = binary.LittleEndian.AppendUint64(key, uint64(sure))
	total, ok := g.known[string(key)]
	if !ok {
		total = g.over(flights, sure, full)
		g.known[string(key)] = total
	}
	return total
}

// over is the chance that flights bring what is missing of a full week.
func (g *integral) over(flights []flight, sure, full int) (total float64) {
	law, out, now := make([]float64, full+1), make([]float64, full+1), make([]float64, full+1)
	for i := range seasonSlices {
		clear(law)
		law[sure] = 1
		most := sure // that the law reaches
		for rest := flights; len(rest) > 0; {
			n := 1
			for n < len(rest) && rest[n].variety == rest[0].variety {
				n++
			}
			most = g.mixed(out, law, now, rest[:n], i, most)
			law, out = out, law
			rest = rest[n:]
		}
		total += law[full] / seasonSlices
	}
	return total
}

// middle is the lateness in the middle of one of n slices of equal chance.
func middle(i, n int) float64 { return math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/float64(n)-1) }

// hits gives how likely a planting comes that does so with latenesses between two, by slice.
func (g *integral) hits(from, to float64) *[seasonSlices][varietySlices]float64 {
	of := [2]float64{from, to}
	if g.comes[of] == nil {
		table := new([seasonSlices][varietySlices]float64)
		for i := range table {
			for j := range table[i] {
				table[i][j] = between(from, to, g.season*middle(i, seasonSlices)+g.ofVariety*middle(j, varietySlices), g.own)
			}
		}
		g.comes[of] = table
	}
	return g.comes[of]
}

// mixed adds the plantings of one variety to a law of stems that reaches up to so many, over what that variety may be
// early or late; now is room to work in. It gives how far the law then reaches.
func (g *integral) mixed(out, law, now []float64, flights []flight, season, most int) int {
	clear(out)
	last := len(law) - 1
	parts := varietySlices
	if g.ofVariety == 0 {
		parts = 1
	}
	reaches := most
	for j := range parts {
		copy(now, law)
		high := most
		for _, f := range flights {
			p := f.comes[season][j]
			if p < 1e-9 {
				continue
			}
			full := max(last-f.grains+1, 0) // from here on the week is full with it
			for n := min(high, last-1); n >= full; n-- {
				comes := now[n] * p
				now[n] -= comes
				now[last] += comes
			}
			if below := min(high+1, full); below > 0 {
				to := now[f.grains : f.grains+below]
				for n, x := range slices.Backward(now[:below]) { // from above, so that each planting comes once
					comes := x * p
					now[n] -= comes
					to[n] += comes
				}
			}
			high = min(high+f.grains, last)
		}
		for n, x := range now[:high+1] {
			out[n] += x / float64(parts)
		}
		reaches = max(reaches, high)
	}
	return reaches
}

// between is the chance that a lateness lies between two, given what is shared of it.
func between(from, to, common, own float64) float64 {
	if own == 0 {
		if common >= from && common < to {
			return 1
		}
		return 0
	}
	below := func(z float64) float64 { return math.Erfc((common-z)/own/math.Sqrt2) / 2 }
	return below(to) - below(from)
}

// latenesses gives those with which a planting comes in a week; from is not below to where it never does.
func (w Wish) latenesses(week int, p Planting) (from, to float64) {
	first := w.First.Add(7 * week)
	after := first.Add(7)
	if p.Window.Known() {
		if p.Window.Likely >= first && p.Window.Likely < after {
			return math.Inf(-1), math.Inf(1)
		}
		return 0, 0
	}
	from, to = lateness(first.Sub(p.Window.Likely), p), lateness(after.Sub(p.Window.Likely), p)
	switch {
	case w.Today >= after:
		return 0, 0
	case w.Today >= first:
		from = math.Inf(-1)
	}
	return from, to
}

// lateness is the least with which a planting comes so many days after its likely day, or later.
func lateness(days int, p Planting) float64 {
	early, late := reach(p.Window)
	off := float64(days) - 0.5
	side := late
	if off < 0 {
		side = early
	}
	if side == 0 {
		return math.Inf(int(math.Copysign(1, off)))
	}
	return off / side
}
