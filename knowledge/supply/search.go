package supply

import (
	"math"
	"math/bits"
)

// search is a spread in the making: so many plants of each choice, and what they bring in each of the seasons.
type search struct {
	*integral
	hits   [][Seasons]int8 // the week in which a choice blooms, by season; -1 in none of them
	weeks  []uint32        // in which a choice may bloom, a bit each
	spells [][]spell       // of each choice, by week
	plants []int
	left   map[int64]int    // of each stock
	stems  [][Seasons]int32 // by week
	good   []int            // seasons in which the week has its stems
	need   []int            // seasons in which it has to have them
	spent  int              // how often all seasons were gone through
	barred int              // a choice that is not added to; -1 for none
	held   int              // a choice that is not taken from; -1 for none
}

// spell is the seasons in which a choice blooms in a week.
type spell struct {
	week    int
	seasons []uint16
}

// spellsOf gathers the weeks in which a choice blooms.
func spellsOf(hits *[Seasons]int8, weeks uint32) (all []spell) {
	for ; weeks != 0; weeks &= weeks - 1 {
		sp := spell{week: bits.TrailingZeros32(weeks)}
		for k, w := range hits {
			if int(w) == sp.week {
				sp.seasons = append(sp.seasons, uint16(k))
			}
		}
		all = append(all, sp)
	}
	return all
}

func newSearch(w Wish) *search {
	s := &search{hits: make([][Seasons]int8, len(w.Choices)), plants: make([]int, len(w.Choices)), left: map[int64]int{},
		stems: make([][Seasons]int32, w.Weeks), good: make([]int, w.Weeks), need: make([]int, w.Weeks), barred: -1, held: -1, integral: newIntegral(w)}
	for stock, n := range w.Most {
		s.left[stock] = n
	}
	drawn := newDraw(Question{First: w.First, Weeks: w.Weeks, Today: w.Today, Split: w.Split})
	s.weeks = make([]uint32, len(w.Choices))
	for i, c := range w.Choices {
		drawn.each(int64(1)<<40+int64(i), c.Variety, c.Window, func(k, cell int) {
			s.hits[i][k] = -1
			if cell > 0 && cell <= w.Weeks {
				s.hits[i][k] = int8(cell - 1)
				s.weeks[i] |= 1 << (cell - 1)
			}
		})
	}
	s.spells = make([][]spell, len(w.Choices))
	for i := range s.spells {
		s.spells[i] = spellsOf(&s.hits[i], s.weeks[i])
	}
	for _, p := range w.Standing {
		drawn.each(p.ID, p.Variety, p.Window, func(k, cell int) {
			if cell > 0 && cell <= w.Weeks {
				s.stems[cell-1][k] += int32(p.Stems)
			}
		})
	}
	for i := range s.stems {
		for _, n := range &s.stems[i] {
			if n >= int32(w.Stems) {
				s.good[i]++
			}
		}
	}
	return s
}

// aim sets in how many of the seasons each week has to have its stems.
func (s *search) aim(level []float64) {
	for i, l := range level {
		s.need[i] = min(int(math.Ceil(l*Seasons)), Seasons)
	}
}

// put adds plants to a choice, or takes them where n is negative.
func (s *search) put(choice, n int) {
	s.spent++
	c := s.Choices[choice]
	s.plants[choice] += n
	s.left[c.Stock] -= n
	more, want := int32(n*c.Stems), int32(s.Stems)
	for _, sp := range s.spells[choice] {
		stems, good := &s.stems[sp.week], 0
		for _, k := range sp.seasons {
			k &= Seasons - 1
			before := stems[k]
			after := before + more
			stems[k] = after
			if before < want && after >= want {
				good++
			} else if before >= want && after < want {
				good--
			}
		}
		s.good[sp.week] += good
	}
}

func (s *search) total() int { return sum(s.plants) }

// lack is by how many seasons the weeks fall short of what is needed, together.
func (s *search) lack() (lack int) {
	for i, n := range s.need {
		lack += max(0, n-s.good[i])
	}
	return lack
}

// short gives the weeks that fall short, a bit each.
func (s *search) short() (weeks uint32) {
	for i, n := range s.need {
		if s.good[i] < n {
			weeks |= 1 << i
		}
	}
	return weeks
}
