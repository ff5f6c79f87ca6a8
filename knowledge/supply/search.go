package supply

import (
	"container/heap"
	"math"
	"math/bits"
	"slices"
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

// without gives by how many seasons the weeks would fall short together if plants of a choice were left out, and in how
// many more than needed they would have their stems.
func (s *search) without(choice, n int) (lack, spare int) {
	s.spent += 2
	want := int32(s.Stems)
	until := want + int32(n*s.Choices[choice].Stems)
	spells := s.spells[choice]
	for w, need := range s.need {
		good := s.good[w]
		if len(spells) > 0 && spells[0].week == w {
			stems := &s.stems[w]
			for _, k := range spells[0].seasons {
				if had := stems[k&(Seasons-1)]; had >= want && had < until {
					good--
				}
			}
			spells = spells[1:]
		}
		lack += max(0, need-good)
		spare += good - need
	}
	return lack, spare
}

func (s *search) total() int { return sum(s.plants) }

// lack is by how many seasons the weeks fall short of what is needed, together.
func (s *search) lack() (lack int) {
	for i, n := range s.need {
		lack += max(0, n-s.good[i])
	}
	return lack
}

// lacking reports whether a week falls short with nothing left that could be added.
func (s *search) lacking() bool { return s.lack() > 0 }

// lot is how many plants of a choice are moved at once: those that bring so many parts of a week's stems, one at least.
// Whole weeks and simple parts of them are moved first, for a planting in bloom serves its week whole or in part.
func (s *search) lot(choice, parts int) int {
	if parts == 0 {
		return 1
	}
	whole := (s.Stems-1)/s.Choices[choice].Stems + 1
	return (whole-1)/parts + 1
}

// gain is how many stems that are missing a plant of a choice brings, in the weeks that fall short, with a lot of it.
func (s *search) gain(choice, lot int) float64 {
	c := s.Choices[choice]
	if s.left[c.Stock] < lot {
		return 0
	}
	want, more := int32(s.Stems), int32(lot*c.Stems)
	gain, short := 0, s.short()
	if s.weeks[choice]&short == 0 {
		return 0
	}
	s.spent++
	for _, sp := range s.spells[choice] {
		if short>>sp.week&1 == 0 {
			continue
		}
		stems := &s.stems[sp.week]
		for _, k := range sp.seasons {
			gain += int(min(max(want-stems[k&(Seasons-1)], 0), more))
		}
	}
	return float64(gain) / float64(lot)
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

// ranking holds choices by their gain, which only ever falls: the best one whose gain is fresh is the best of all.
type ranking struct {
	choice []int
	gain   []float64
}

func (r *ranking) Len() int { return len(r.choice) }
func (r *ranking) Less(i, j int) bool {
	return r.gain[i] > r.gain[j] || r.gain[i] == r.gain[j] && r.choice[i] < r.choice[j]
}
func (r *ranking) Swap(i, j int) {
	r.choice[i], r.choice[j] = r.choice[j], r.choice[i]
	r.gain[i], r.gain[j] = r.gain[j], r.gain[i]
}

// Push is not used: a ranking only shrinks.
func (r *ranking) Push(any) {}

// Pop takes the last one off.
func (r *ranking) Pop() any {
	n := len(r.choice) - 1
	r.choice, r.gain = r.choice[:n], r.gain[:n]
	return nil
}

// fill adds plants in lots, each where it helps most, until no week falls short or no lot helps.
func (s *search) fill(parts int) {
	r := &ranking{}
	for i := range s.Choices {
		if i == s.barred {
			continue
		}
		if g := s.gain(i, s.lot(i, parts)); g > 0 {
			r.choice, r.gain = append(r.choice, i), append(r.gain, g)
		}
	}
	heap.Init(r)
	for r.Len() > 0 && s.lack() > 0 {
		best := r.choice[0]
		lot := s.lot(best, parts)
		g := s.gain(best, lot)
		switch {
		case g == 0:
			heap.Pop(r)
		case g < r.gain[0]:
			r.gain[0] = g
			heap.Fix(r, 0)
		default:
			s.put(best, lot)
			r.gain[0] = s.gain(best, lot)
			heap.Fix(r, 0)
		}
	}
}

// thin leaves out lots that are not missed, those first that leave most to spare for the plants they save.
func (s *search) thin(parts int) {
	for {
		best, most := -1, -1.0
		for i, n := range s.plants {
			lot := s.lot(i, parts)
			if n < lot || i == s.held {
				continue
			}
			if lack, spare := s.without(i, lot); lack == 0 {
				if worth := float64(lot) * float64(1+spare); worth > most {
					best, most = i, worth
				}
			}
		}
		if best < 0 {
			return
		}
		s.put(best, -s.lot(best, parts))
	}
}

// mostSpent bounds a search, so that an answer never takes long.
const mostSpent = 300_000

// portions are the parts of a week's stems in which plants are moved, in order; 0 is single plants.
func portions() []int { return []int{1, 2, 3, 4, 8, 0} }

// improve finds a spread that needs few plants: filled up in several ways, the best one is thinned, and then plants are
// left out and others exchanged until none is missed.
func (s *search) improve() {
	best, ok := s.begin(make([]int, len(s.plants)))
	if !ok {
		return
	}
	s.restore(best)
	for saved := true; saved && s.spent < mostSpent; {
		saved = false
		for _, p := range portions() {
			for s.save(p) {
				saved = true
			}
		}
		saved = saved || s.recast() || s.force()
	}
}

// begin fills up from so many plants in several ways and gives the best spread of them; ok is false where none will do.
func (s *search) begin(from []int) (best []int, ok bool) {
	for _, start := range portions() {
		s.restore(from)
		s.fill(start)
		s.fill(0)
		if s.lack() > 0 {
			continue
		}
		s.thinAll()
		if best == nil || s.total() < sum(best) {
			best = slices.Clone(s.plants)
		}
	}
	return best, best != nil
}

func (s *search) thinAll() {
	for _, p := range portions() {
		s.thin(p)
	}
}

// recast does without one of the choices that are used, and fills up with others, if that saves plants.
func (s *search) recast() bool {
	before := slices.Clone(s.plants)
	for i, n := range before {
		if n == 0 || s.spent > mostSpent {
			continue
		}
		from := slices.Clone(before)
		from[i] = 0
		s.barred = i
		best, ok := s.begin(from)
		s.barred = -1
		if ok && sum(best) < sum(before) {
			s.restore(best)
			return true
		}
	}
	s.restore(before)
	return false
}

// force adds a lot of a choice and leaves out what is not missed with it, if that saves plants.
func (s *search) force() bool {
	before := slices.Clone(s.plants)
	for i, c := range s.Choices {
		for _, p := range portions()[:3] {
			lot := s.lot(i, p)
			if s.spent > mostSpent || s.weeks[i] == 0 || s.left[c.Stock] < lot {
				continue
			}
			s.put(i, lot)
			s.held = i
			s.thinAll()
			s.held = -1
			if s.thin(0); s.total() < sum(before) {
				return true
			}
			s.restore(before)
		}
	}
	return false
}

// again fills up what is missing after the aim was raised, and leaves out what is not missed.
func (s *search) again() {
	s.fill(0)
	if s.lack() == 0 {
		s.thin(0)
	}
}

// save tries to do with fewer plants: a lot is left out, and lots are exchanged until none is missed. It leaves the spread
// as it was where that does not work out.
func (s *search) save(parts int) bool {
	before := slices.Clone(s.plants)
	drop, least := -1, math.MaxInt
	for i, n := range s.plants {
		if lot := s.lot(i, parts); n >= lot {
			if lack, _ := s.without(i, lot); lack < least {
				drop, least = i, lack
			}
		}
	}
	if drop < 0 {
		return false
	}
	s.put(drop, -s.lot(drop, parts))
	for s.lack() > 0 {
		if s.spent > mostSpent || !s.exchange(parts) {
			s.restore(before)
			return false
		}
	}
	s.thin(0)
	if s.total() >= sum(before) {
		s.restore(before)
		return false
	}
	return true
}

func (s *search) restore(plants []int) {
	for i, n := range plants {
		if n != s.plants[i] {
			s.put(i, n-s.plants[i])
		}
	}
}

// exchange makes the exchange of one lot that leaves least missing; it reports whether there was one that helps.
func (s *search) exchange(parts int) bool {
	least, from, to := s.lack(), -1, -1
	for i, n := range s.plants {
		out := s.lot(i, parts)
		if n < out {
			continue
		}
		s.put(i, -out)
		lack, short := s.lack(), s.short()
		for j, c := range s.Choices {
			in := s.lot(j, parts)
			if j == i || s.left[c.Stock] < in || s.weeks[j]&short == 0 {
				continue
			}
			if after := lack - s.relief(j, in); after < least {
				least, from, to = after, i, j
			}
		}
		s.put(i, out)
	}
	if from < 0 {
		return false
	}
	s.put(from, -s.lot(from, parts))
	s.put(to, s.lot(to, parts))
	return true
}

// relief is by how much less would be missing with a lot of a choice more.
func (s *search) relief(choice, lot int) (relief int) {
	s.spent++
	want := int32(s.Stems)
	from := want - int32(lot*s.Choices[choice].Stems)
	for _, sp := range s.spells[choice] {
		missing := s.need[sp.week] - s.good[sp.week]
		if missing <= 0 {
			continue
		}
		stems, gained := &s.stems[sp.week], 0
		for _, k := range sp.seasons {
			if n := stems[k&(Seasons-1)]; n < want && n >= from {
				gained++
			}
		}
		relief += min(gained, missing)
	}
	return relief
}
