package supply

import (
	"cmp"
	"math"
	"slices"
)

// Of how many spreads the search for a smaller one looks at most, and how many chances it works out.
const (
	mostLooks   = 60_000
	mostChances = 40
)

// doubt is by how much the share of seasons in which a week has its stems may lie below its chance.
const doubt = 0.01

// smaller tries every number of plants below that of the spread, cutting off what the cuts rule out. It reports whether it
// came to the end; the spread is then one with the fewest plants there are.
func (s *search) smaller(c cuts) bool {
	t := &trial{search: s, cuts: c.all, best: s.total(), found: slices.Clone(s.plants), looks: mostLooks, chances: mostChances}
	if c.least >= t.best {
		return true
	}
	s.restore(make([]int, len(s.plants)))
	for i := range s.Choices {
		t.order = append(t.order, i)
	}
	use := func(i int) (use float64) {
		for _, c := range t.cuts {
			use += c.worth[i]
		}
		return use
	}
	slices.SortStableFunc(t.order, func(a, b int) int { return cmp.Compare(use(b), use(a)) })
	t.rest = make([][]float64, len(t.order)+1)
	t.rest[len(t.order)] = make([]float64, len(t.cuts))
	for i := len(t.order) - 1; i >= 0; i-- {
		t.rest[i] = slices.Clone(t.rest[i+1])
		for r, c := range t.cuts {
			t.rest[i][r] = max(t.rest[i][r], c.worth[t.order[i]])
		}
	}
	lacks := make([]float64, len(t.cuts))
	for r, c := range t.cuts {
		lacks[r] = c.least
	}
	t.from(0, 0, lacks)
	s.restore(t.found)
	return t.looks > 0 && t.chances > 0
}

// trial is a walk through all spreads with fewer plants than the best.
type trial struct {
	*search
	cuts           []cut
	order          []int
	rest           [][]float64 // the most that a plant of the choices from here on is worth, by cut
	best           int
	found          []int
	looks, chances int
}

// from walks through the choices from one on, with so many plants so far and what they leave each cut to lack.
func (t *trial) from(i, plants int, lacks []float64) {
	if t.looks--; t.looks <= 0 || t.chances <= 0 {
		return
	}
	if plants >= t.best {
		return
	}
	if t.lack() == 0 {
		t.chances--
		if t.sure(1<<t.Weeks - 1) {
			t.best, t.found = plants, slices.Clone(t.plants)
			return
		}
	}
	if i == len(t.order) || plants+t.needs(i, lacks) >= t.best {
		return
	}
	choice := t.order[i]
	left := slices.Clone(lacks)
	added := 0
	for {
		t.from(i+1, plants+added, left)
		if t.looks <= 0 || t.chances <= 0 || plants+added+1 >= t.best || t.left[t.Choices[choice].Stock] == 0 {
			break
		}
		t.put(choice, 1)
		added++
		for r, c := range t.cuts {
			left[r] -= c.worth[choice]
		}
	}
	t.put(choice, -added)
}

// needs gives how many plants the choices from one on have to add at the least.
func (t *trial) needs(i int, lacks []float64) (most int) {
	for r, lack := range lacks {
		switch worth := t.rest[i][r]; {
		case lack <= 1e-9:
		case worth == 0:
			return math.MaxInt32
		default:
			most = max(most, int(math.Ceil(lack/worth-1e-6)))
		}
	}
	return most
}

// mend adds plants where the chance of a week is not yet what is wanted though the seasons say so.
func (s *search) mend(out *Spread) bool {
	const most = 40
	for range most {
		week := -1
		for w, c := range out.Chance {
			if c < s.Certainty && (week < 0 || c < out.Chance[week]) {
				week = w
			}
		}
		if week < 0 {
			return true
		}
		best, hits := -1, 0
		for i, c := range s.Choices {
			n := 0
			for k, w := range &s.hits[i] {
				if int(w) == week && s.stems[week][k] < int32(s.Stems) {
					n++
				}
			}
			if s.left[c.Stock] > 0 && n*c.Stems > hits {
				best, hits = i, n*c.Stems
			}
		}
		if best < 0 {
			return false
		}
		s.put(best, 1)
		out.Plants, out.Chance = slices.Clone(s.plants), s.chances()
	}
	return slices.Min(out.Chance) >= s.Certainty
}

// trim leaves out single plants that no week's chance misses.
func (s *search) trim(out *Spread) {
	const most = 60
	looks := 0
	for again := true; again; {
		again = false
		for i := range s.plants {
			if s.plants[i] == 0 || looks >= most {
				continue
			}
			looks++
			s.put(i, -1)
			if s.sure(s.weeks[i]) {
				again = true
			} else {
				s.put(i, 1)
			}
		}
	}
	out.Plants, out.Chance = slices.Clone(s.plants), s.chances()
}
