package supply

// Counted is what a search finds when it goes by the seasons alone.
type Counted struct {
	Plants []int
	Met    bool
	Least  int             // by the relaxation
	Hits   [][Seasons]int8 // the week in which a choice blooms, by season; -1 in none
}

// Count searches a spread by the seasons alone, so that it can be held against other programs.
func Count(w Wish) Counted {
	s := newSearch(w)
	level := make([]float64, w.Weeks)
	for i := range level {
		level[i] = w.Certainty
	}
	s.aim(level)
	s.improve()
	return Counted{Plants: s.plants, Met: s.lack() == 0, Least: s.relax().least, Hits: s.hits}
}
