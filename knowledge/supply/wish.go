package supply

import (
	"math"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Choice is one way to grow plants: of which stock, and so that they bloom when. A later stop of one variety is another.
type Choice struct {
	Stock   int64 // whose plants of which variety; choices of one stock share what there is of it
	Variety int64
	Window  calendar.Window
	Stems   int // that a plant bears
}

// Wish is stems wanted every week, each week for itself.
type Wish struct {
	First     calendar.Day // of the first week
	Weeks     int
	Stems     int // a week
	Certainty float64
	Today     calendar.Day
	Split     Split
	Choices   []Choice
	Most      map[int64]int // plants that a stock gives; one left out gives none
	Standing  []Planting    // what blooms anyway
}

// Spread is how many plants of each choice meet a wish.
type Spread struct {
	Plants []int // by choice
	Total  int
	Chance []float64 // by week, that the stems are there
	Met    bool      // every week reaches the certainty; else no more plants could be found that would help
	Least  int       // fewer plants than these cannot do, over the seasons reckoned
	Tried  bool      // every smaller number of plants was tried, so that none does
}

// The bounds of a wish.
const (
	MostWeeks   = 26
	MostChoices = 1000
	MostStems   = 20_000
)

func (w Wish) check() error {
	switch {
	case w.Weeks < 1 || w.Weeks > MostWeeks:
		return fault.New(fault.Unclear, "A spread over %d weeks cannot be reckoned; give 1 to %d weeks.", w.Weeks, MostWeeks)
	case w.Stems < 1 || w.Stems > MostStems:
		return fault.New(fault.Unclear, "%d stems a week cannot be reckoned; give 1 to %d.", w.Stems, MostStems)
	case !(w.Certainty >= 0.5 && w.Certainty <= 0.99+1e-9):
		return fault.New(fault.Unclear, "A certainty of %g %% cannot be reckoned for a spread; give 50 to 99 %%.", math.Round(1000*w.Certainty)/10)
	case len(w.Choices) > MostChoices:
		return fault.New(fault.Unclear, "%d choices of variety and stop are too many; name fewer varieties.", len(w.Choices))
	}
	return nil
}

// Plan finds a spread with as few plants as it can. The exact least is out of reach in general, for a chance to be kept
// each week makes the problem NP-hard (Luedtke, Ahmed & Nemhauser, Math. Program. 122, 2010): plants are added where they
// help most, left out where they are not missed, and exchanged as long as that saves one. A relaxation says how many are
// needed at the least, and for few choices every smaller number is tried. The chances given are integrals over the
// lateness and not counted over the seasons that the search goes by, so that they are not flattered by it.
func Plan(w Wish) (Spread, error) {
	if err := w.check(); err != nil {
		return Spread{}, err
	}
	s := newSearch(w)
	level := make([]float64, w.Weeks)
	for i := range level {
		level[i] = w.Certainty
	}
	const rounds = 8
	var out Spread
	for round := range rounds {
		s.aim(level)
		if round == 0 {
			s.improve()
		}
		s.again()
		out = Spread{Plants: slices.Clone(s.plants), Chance: s.chances(), Met: true}
		for i, c := range out.Chance {
			if c < w.Certainty {
				out.Met = false
				level[i] += w.Certainty - c + 0.001
			}
		}
		if out.Met || s.lack() > 0 {
			break
		}
	}
	out.Met = out.Met || s.lack() == 0 && s.mend(&out)
	if out.Met {
		s.trim(&out)
		for i := range level {
			level[i] = w.Certainty - doubt
		}
		s.aim(level)
		limits := s.relax()
		out.Least, out.Tried = limits.least, s.smaller(limits)
		out.Plants, out.Chance = slices.Clone(s.plants), s.chances()
	}
	out.Total = sum(out.Plants)
	out.Least = min(out.Least, out.Total)
	return out, nil
}

func sum(xs []int) (total int) {
	for _, x := range xs {
		total += x
	}
	return total
}
