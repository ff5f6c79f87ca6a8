package supply

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// cut is a limit that every spread keeps that meets its weeks: the worths of its plants sum to at least so much. With the
// seasons A and a week that may fail in f of all, the stems over A are at least those of (|A| - f) whole seasons.
type cut struct {
	worth []float64 // of one plant, by choice
	least float64
}

// spare is by how much plants keep a cut.
func (c cut) spare(plants []float64) float64 {
	sum := -c.least
	for i, n := range plants {
		sum += n * c.worth[i]
	}
	return sum
}

// cuts are the limits that were found, and the least plants that keep them all.
type cuts struct {
	all   []cut
	least int
}

// tightenings bounds how often cuts are added: fewer times where many choices make each time long. Cuts that do not bind
// are left out again.
func tightenings(choices int) int { return min(24, 8+800/max(choices, 1)) }

// relax reckons how many plants are needed at the least: with parts of plants, and with seasons that may fail in part. The
// cuts are those of Benders for that relaxation, found where a solution breaks them.
func (s *search) relax() cuts {
	out := cuts{}
	out.add(s, make([]float64, len(s.Choices)), true)
	plants := make([]float64, len(s.Choices))
	for tenths := 9; tenths > 3; tenths-- { // seasons that fail first with the spread found limit others as well
		for i, n := range s.plants {
			plants[i] = float64(n*tenths) / 10
		}
		out.add(s, plants, false)
	}
	for round := range tightenings(len(s.Choices)) {
		if broken := round == 0 || out.add(s, plants, false); !broken || len(out.all) == 0 {
			break
		}
		least, at, ok := solve(out.all, len(s.Choices))
		if !ok {
			break
		}
		out.least, plants = int(math.Ceil(least-1e-6)), at
		out.all = slices.DeleteFunc(out.all, func(c cut) bool { return c.spare(plants) > 1e-7 })
	}
	return out
}

// add adds the cuts that plants break, or those over all seasons; it reports whether there are any.
func (c *cuts) add(s *search, plants []float64, over bool) (some bool) {
	for w := range s.need {
		if limit, broken := s.cutOf(w, plants, over); broken {
			c.all = append(c.all, limit)
			some = true
		}
	}
	return some
}

// cutOf gives the cut of a week over the seasons in which the plants fail, or over all of them, and whether the plants
// break it.
func (s *search) cutOf(week int, plants []float64, over bool) (cut, bool) {
	standing := s.standing(week)
	stems := *standing
	for i, n := range plants {
		if n > 0 {
			for k, w := range &s.hits[i] {
				if int(w) == week {
					stems[k] += n * float64(s.Choices[i].Stems)
				}
			}
		}
	}
	want := float64(s.Stems)
	var in [Seasons]bool
	seasons, has, stand := 0, 0.0, 0.0
	for k, n := range stems {
		if over || n < want-1e-6 {
			in[k] = true
			seasons++
			has += n
			stand += standing[k]
		}
	}
	least := want * float64(seasons-(Seasons-s.need[week]))
	if has >= least-1e-3*want {
		return cut{}, false
	}
	scale := want * Seasons
	c := cut{worth: make([]float64, len(s.Choices)), least: (least - stand) / scale}
	for i := range s.hits {
		n := 0
		for k, w := range &s.hits[i] {
			if int(w) == week && in[k] {
				n++
			}
		}
		c.worth[i] = float64(n*s.Choices[i].Stems) / scale
	}
	return c, true
}

// standing gives what blooms in a week without the spread, by season.
func (s *search) standing(week int) *[Seasons]float64 {
	var out [Seasons]float64
	for k, n := range &s.stems[week] {
		out[k] = float64(n)
	}
	for i, n := range s.plants {
		if n > 0 {
			for k, w := range &s.hits[i] {
				if int(w) == week {
					out[k] -= float64(n * s.Choices[i].Stems)
				}
			}
		}
	}
	return &out
}

// solve gives the least plants, in parts too, that keep all cuts.
func solve(all []cut, choices int) (least float64, plants []float64, ok bool) {
	var of []int // choices that are worth anything
	for i := range choices {
		if slices.ContainsFunc(all, func(c cut) bool { return c.worth[i] > 0 }) {
			of = append(of, i)
		}
	}
	a := mat.NewDense(len(all), len(of)+len(all), nil)
	cost, b := make([]float64, len(of)+len(all)), make([]float64, len(all))
	for r, c := range all {
		for j, i := range of {
			cost[j] = 1
			a.Set(r, j, c.worth[i])
		}
		a.Set(r, len(of)+r, -1)
		b[r] = c.least
	}
	least, at, err := lp.Simplex(cost, a, b, 1e-10, nil)
	if err != nil { // numbers too close together to go on: the cuts so far hold all the same
		return 0, nil, false
	}
	plants = make([]float64, choices)
	for j, i := range of {
		plants[i] = at[j]
	}
	return least, plants, true
}
