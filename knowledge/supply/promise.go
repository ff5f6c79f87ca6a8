package supply

import (
	"cmp"
	"slices"

	"shortday/knowledge/calendar"
)

// Promise is stems that were promised for a week.
type Promise struct {
	ID     int64
	Week   calendar.Day // any day of it
	Stems  int
	Narrow int // how narrowly it says what is to be delivered; narrower ones are served first
	Fits   func(variety int64) bool
}

// Service is how a promise stands.
type Service struct {
	Promise
	Met      float64 // the chance that all its stems are there
	Expected float64 // stems served on average
	Short    int     // stems that are missing at most, nineteen seasons in twenty
}

// counter serves the promises of one week out of the stems of that week: narrower promises first, of those as narrow the
// older, and each gets as much as can be served without taking from one before it. Stems are left over for the next week
// to nobody. groups are varieties that fit the same promises.
type counter struct {
	promises []Promise
	fits     [][]bool // by group, by promise
	stems    []*[Seasons]int32
	group    map[string]int
}

func newCounter(promises []Promise) *counter {
	c := &counter{promises: promises, group: map[string]int{}}
	slices.SortStableFunc(c.promises, func(a, b Promise) int {
		return cmp.Or(cmp.Compare(b.Narrow, a.Narrow), cmp.Compare(a.ID, b.ID))
	})
	return c
}

// deliver adds a variety's stems of the week.
func (c *counter) deliver(variety int64, stems *[Seasons]int32) {
	key := make([]byte, len(c.promises))
	fits, some := make([]bool, len(c.promises)), false
	for i, p := range c.promises {
		if fits[i] = p.Fits == nil || p.Fits(variety); fits[i] {
			key[i], some = 1, true
		}
	}
	if !some {
		return
	}
	g, ok := c.group[string(key)]
	if !ok {
		g = len(c.stems)
		c.group[string(key)] = g
		c.fits = append(c.fits, fits)
		c.stems = append(c.stems, new([Seasons]int32))
	}
	for k, n := range stems {
		c.stems[g][k] += n
	}
}

// serve gives how each promise comes out, the chance that all do, and what the promises take in each season.
func (c *counter) serve() (services []Service, met float64, taken *[Seasons]int32) {
	taken = new([Seasons]int32)
	short := make([][]int32, len(c.promises))
	for i := range short {
		short[i] = make([]int32, Seasons)
	}
	h := &hand{counter: c, left: make([]int32, len(c.stems)), given: make([][]int32, len(c.promises))}
	for i := range h.given {
		h.given[i] = make([]int32, len(c.stems))
	}
	all := 0
	for k := range Seasons {
		h.begin(k)
		whole := true
		for i, p := range c.promises {
			got := h.fill(i, int32(p.Stems))
			short[i][k] = int32(p.Stems) - got
			taken[k] += got
			whole = whole && short[i][k] == 0
		}
		if whole {
			all++
		}
	}
	for i, p := range c.promises {
		s := Service{Promise: p}
		lacks := 0
		for _, n := range short[i] {
			lacks += int(n)
			if n == 0 {
				s.Met++
			}
		}
		s.Met /= Seasons
		s.Expected = float64(p.Stems) - float64(lacks)/Seasons
		slices.Sort(short[i])
		s.Short = int(short[i][Seasons-1-tail])
		services = append(services, s)
	}
	return services, float64(all) / Seasons, taken
}

// hand deals the stems of one week of one season.
type hand struct {
	*counter
	left  []int32   // by group
	given [][]int32 // by promise, by group
}

func (h *hand) begin(k int) {
	for g, stems := range h.stems {
		h.left[g] = stems[k]
		for i := range h.given {
			h.given[i][g] = 0
		}
	}
}

// fill serves a promise as far as it can be: out of what is left, and where that does not do by giving promises before it
// other stems that fit them as well, along the shortest such chain.
func (h *hand) fill(promise int, stems int32) (got int32) {
	for g := range h.left {
		if h.fits[g][promise] {
			n := min(h.left[g], stems-got)
			h.take(promise, g, n)
			got += n
		}
	}
	for got < stems {
		n := h.exchange(promise, stems-got)
		if n == 0 {
			break
		}
		got += n
	}
	return got
}

func (h *hand) take(promise, group int, n int32) {
	h.left[group] -= n
	h.given[promise][group] += n
}

// exchange finds a chain of promises, each giving up stems of a group for those of another, to one that has some left.
func (h *hand) exchange(promise int, most int32) int32 {
	type link struct{ from, group int } // who asks, and for stems of which group
	asked := map[int]link{}
	queue := []int{promise}
	seen := map[int]bool{}
	for len(queue) > 0 {
		asks := queue[0]
		queue = queue[1:]
		for g := range h.left {
			if !h.fits[g][asks] || seen[g] {
				continue
			}
			seen[g] = true
			if h.left[g] > 0 {
				n := min(most, h.left[g])
				for p := asks; p != promise; p = asked[p].from {
					n = min(n, h.given[p][asked[p].group])
				}
				h.take(asks, g, n)
				for p := asks; p != promise; {
					l := asked[p]
					h.given[p][l.group] -= n
					h.given[l.from][l.group] += n
					p = l.from
				}
				return n
			}
			for other := range h.given {
				if _, is := asked[other]; !is && other != promise && h.given[other][g] > 0 {
					asked[other] = link{asks, g}
					queue = append(queue, other)
				}
			}
		}
	}
	return 0
}
