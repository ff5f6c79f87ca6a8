package supply

import (
	"cmp"
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

// chances gives for each week how sure its stems are.
func (s *search) chances() []float64 {
	return chances(s.Wish, s.plantings())
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

func chances(w Wish, plantings []Planting) []float64 {
	plantings = byVariety(plantings)
	out := make([]float64, w.Weeks)
	for week := range out {
		out[week] = w.chanceOf(week, plantings)
	}
	return out
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
		if s.Wish.chanceOf(w, plantings) < s.Certainty {
			return false
		}
	}
	return true
}

// flight is a planting as the integral takes it: between which latenesses it hits the week, and how many grains it brings.
type flight struct {
	variety  int64
	from, to float64
	grains   int
}

func (w Wish) chanceOf(week int, plantings []Planting) float64 {
	grain := (w.Stems-1)/mostGrains + 1
	full := (w.Stems-1)/grain + 1
	var flights []flight
	sure := 0
	for _, p := range plantings {
		from, to := w.latenesses(week, p)
		switch grains := min(p.Stems/grain, full); {
		case from >= to || grains == 0:
		case math.IsInf(from, -1) && math.IsInf(to, 1):
			sure += grains
		default:
			flights = append(flights, flight{p.Variety, from, to, grains})
		}
	}
	if sure >= full {
		return 1
	}
	season, ofVariety, own := w.Split.parts()
	total := 0.0
	for i := range seasonSlices {
		shared := season * middle(i, seasonSlices)
		law := make([]float64, full+1)
		law[sure] = 1
		for rest := flights; len(rest) > 0; {
			n := 1
			for n < len(rest) && rest[n].variety == rest[0].variety {
				n++
			}
			law = mixed(law, rest[:n], shared, ofVariety, own)
			rest = rest[n:]
		}
		total += law[full] / seasonSlices
	}
	return total
}

// middle is the lateness in the middle of one of n slices of equal chance.
func middle(i, n int) float64 { return math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/float64(n)-1) }

// mixed adds the plantings of one variety to a law of stems, over what that variety may be early or late.
func mixed(law []float64, flights []flight, shared, ofVariety, own float64) []float64 {
	out := make([]float64, len(law))
	last := len(law) - 1
	now := make([]float64, len(law))
	for i := range varietySlices {
		common := shared + ofVariety*middle(i, varietySlices)
		copy(now, law)
		for _, f := range flights {
			p := between(f.from, f.to, common, own)
			if p < 1e-9 {
				continue
			}
			for n := last; n >= 0; n-- { // from above, so that each planting comes once
				if now[n] == 0 {
					continue
				}
				comes := now[n] * p
				now[n] -= comes
				now[min(n+f.grains, last)] += comes
			}
		}
		for n, x := range now {
			out[n] += x / varietySlices
		}
		if ofVariety == 0 {
			for n := range out {
				out[n] *= varietySlices
			}
			break
		}
	}
	return out
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
