package supply

import "container/heap"

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
