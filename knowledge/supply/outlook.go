package supply

import (
	"cmp"
	"maps"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/variety"
)

// Question is what is asked of a co-op's supply.
type Question struct {
	First     calendar.Day // of the first week
	Weeks     int
	Today     calendar.Day // what has not bloomed by now blooms from now on
	Plantings []Planting
	Promises  []Promise
	Split     Split
}

// Band is a number of stems: the mean, and the lowest and highest of nine seasons in ten. One season in twenty is below
// Low, one above High.
type Band struct {
	Expected  float64
	Low, High int
}

// Row is the stems of one variety, of one season class or of all, week by week. The means of a row, Before and After with
// them, sum to its stems exactly.
type Row struct {
	Variety       int64          // 0 in a row of several
	Season        variety.Season // of a row of varieties of one class
	Stems         int
	Before, After Band
	Weeks         []Band
}

// Week is how the promises of a week stand.
type Week struct {
	From     calendar.Day
	Promised int
	Met      float64 // the chance that all of them are met; 1 where there are none
	Free     Band    // stems beyond those that the promises take
}

// Outlook is the answer: all that a table or a picture of it shows.
type Outlook struct {
	All       Row
	Seasons   []Row     // early, mid, late, not known; those without stems left out
	Varieties []Row     // by ID
	Weeks     []Week    // as many as the question has
	Promises  []Service // by week, and in it as they are served; those of other weeks left out
}

// tail is how many of the seasons lie below a band, and as many above.
const tail = Seasons / 20

// Reckon sums the windows of the plantings over the weeks.
func Reckon(q Question) Outlook {
	s := newDraw(q)
	out := Outlook{}
	plantings := slices.SortedStableFunc(slices.Values(q.Plantings), func(a, b Planting) int {
		return cmp.Or(cmp.Compare(a.Variety, b.Variety), cmp.Compare(a.ID, b.ID))
	})
	all, seasons := s.cells(), map[variety.Season]cells{}
	for len(plantings) > 0 {
		v := plantings[0]
		n := slices.IndexFunc(plantings, func(p Planting) bool { return p.Variety != v.Variety })
		if n < 0 {
			n = len(plantings)
		}
		one := s.sum(plantings[:n])
		plantings = plantings[n:]
		if seasons[v.Season] == nil {
			seasons[v.Season] = s.cells()
		}
		all.add(one)
		seasons[v.Season].add(one)
		for w, c := range s.counters {
			if c != nil {
				c.deliver(v.Variety, &one[1+w])
			}
		}
		out.Varieties = append(out.Varieties, one.row(Row{Variety: v.Variety, Season: v.Season}))
	}
	for _, season := range []variety.Season{variety.Early, variety.Mid, variety.Late, variety.AnySeason} {
		if seasons[season] != nil {
			out.Seasons = append(out.Seasons, seasons[season].row(Row{Season: season}))
		}
	}
	out.All = all.row(Row{})
	for w, c := range s.counters {
		week := Week{From: q.First.Add(7 * w), Met: 1}
		free := all[1+w]
		if c != nil {
			services, met, taken := c.serve()
			week.Met = met
			for k, n := range taken {
				free[k] -= n
			}
			for _, p := range services {
				week.Promised += p.Stems
			}
			out.Promises = append(out.Promises, services...)
		}
		week.Free = band(&free)
		out.Weeks = append(out.Weeks, week)
	}
	return out
}

// draw is the seasons as they are drawn.
type draw struct {
	Question
	bell           *[Seasons]float64
	weather        [Seasons]float64
	ofVariety, own float64
	common         map[int64]*[Seasons]float64 // what the plantings of a variety share
	counters       []*counter                  // by week; nil where nothing is promised
}

func newDraw(q Question) *draw {
	s := &draw{Question: q, bell: bell(), common: map[int64]*[Seasons]float64{}, counters: make([]*counter, q.Weeks)}
	season, ofVariety, own := q.Split.parts()
	s.ofVariety, s.own = ofVariety, own
	o := orderOf(weather, 0)
	for k := range s.weather {
		s.weather[k] = season * s.bell[o.at(k)]
	}
	weeks := map[int][]Promise{}
	for _, p := range q.Promises {
		if days := p.Week.Sub(q.First); days >= 0 && days < 7*q.Weeks {
			weeks[days/7] = append(weeks[days/7], p)
		}
	}
	for w, promises := range weeks {
		s.counters[w] = newCounter(promises)
	}
	return s
}

// cells are stems by week and season: first those before the weeks, last those after.
type cells [][Seasons]int32

func (s *draw) cells() cells { return make(cells, s.Weeks+2) }

func (c cells) add(d cells) {
	for w := range c {
		for k, n := range &d[w] {
			c[w][k] += n
		}
	}
}

// sum gives the stems of one variety's plantings.
func (s *draw) sum(plantings []Planting) cells {
	out := s.cells()
	for _, p := range plantings {
		s.each(p.ID, p.Variety, p.Window, func(k, cell int) { out[cell][k] += int32(p.Stems) })
	}
	return out
}

// each tells for every season in which cell a planting blooms.
func (s *draw) each(id, variety int64, w calendar.Window, tell func(season, cell int)) {
	likely, now := w.Likely.Sub(s.First), s.Today.Sub(s.First)
	if w.Known() {
		cell := s.cell(likely)
		for k := range Seasons {
			tell(k, cell)
		}
		return
	}
	common := s.shared(variety)
	early, late := reach(w)
	o := orderOf(ofPlanting, id)
	for k := range Seasons {
		day := likely + moved(common[k]+s.own*s.bell[o.at(k)], early, late)
		tell(k, s.cell(max(day, now)))
	}
}

// shared gives the part of the lateness that the plantings of a variety have in common.
func (s *draw) shared(variety int64) *[Seasons]float64 {
	common := s.common[variety]
	if common == nil {
		common = new([Seasons]float64)
		o := orderOf(ofVariety, variety)
		for k := range common {
			common[k] = s.weather[k] + s.ofVariety*s.bell[o.at(k)]
		}
		s.common[variety] = common
	}
	return common
}

// cell gives the index of a day counted from the first.
func (s *draw) cell(day int) int {
	switch {
	case day < 0:
		return 0
	case day >= 7*s.Weeks:
		return s.Weeks + 1
	}
	return 1 + day/7
}

func (c cells) row(r Row) Row {
	last := len(c) - 1
	for w := range c {
		switch b := band(&c[w]); w {
		case 0:
			r.Before = b
		case last:
			r.After = b
		default:
			r.Weeks = append(r.Weeks, b)
		}
		r.Stems += int(c[w][0]) // in each single season all stems come
	}
	return r
}

func band(stems *[Seasons]int32) Band {
	total, some := 0, false
	for _, n := range stems {
		total += int(n)
		some = some || n != 0
	}
	if !some {
		return Band{}
	}
	sorted := *stems
	slices.Sort(sorted[:])
	return Band{Expected: float64(total) / Seasons, Low: int(sorted[tail]), High: int(sorted[Seasons-1-tail])}
}

func sortedKeys[V any](m map[int]V) []int { return slices.Sorted(maps.Keys(m)) }
