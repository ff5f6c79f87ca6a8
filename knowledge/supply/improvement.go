package supply

import (
	"math"
	"slices"
)

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
