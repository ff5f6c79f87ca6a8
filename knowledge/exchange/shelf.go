package exchange

import (
	"cmp"
	"slices"
	"sort"

	"shortday/knowledge/calendar"
)

// kind is what one unit can be swapped for another of.
type kind struct {
	variety int64
	stock   Stock
}

// shelf holds the offers of a kind by their first day, as the leaves of a segment tree: all that are ready by a day,
// without a member's own, are a handful of its nodes.
type shelf struct {
	offers []int           // indexes into the market's
	from   []calendar.Day  // their first days, rising
	nodes  []int32         // children of i are 2i and 2i+1, the leaves come last
	own    map[int64][]int // by member: places in offers, rising
	place  map[int64]int   // by the offer's id: place in offers
}

// joinShelves sets every offer on its shelf.
func (l *layout) joinShelves(p *plumbing) {
	l.shelves = make(map[kind]*shelf)
	var order []*shelf
	for i := range l.market.Offers {
		o := &l.market.Offers[i]
		k := kind{o.Variety, o.Stock}
		if l.shelves[k] == nil {
			l.shelves[k] = &shelf{own: make(map[int64][]int), place: make(map[int64]int)}
			order = append(order, l.shelves[k])
		}
		l.shelves[k].offers = append(l.shelves[k].offers, i)
	}
	for _, s := range order {
		slices.SortStableFunc(s.offers, func(a, b int) int {
			return cmp.Compare(l.market.Offers[a].From, l.market.Offers[b].From)
		})
		s.plant(p, l)
	}
}

// plant joins each node of the tree to the one above.
func (s *shelf) plant(p *plumbing, l *layout) {
	n := len(s.offers)
	s.nodes = make([]int32, 2*n)
	for i := 1; i < n; i++ {
		s.nodes[i] = p.node(1)
	}
	for place, i := range s.offers {
		o := &l.market.Offers[i]
		s.nodes[n+place] = l.offers + int32(i)
		s.from = append(s.from, o.From)
		s.own[o.Member] = append(s.own[o.Member], place)
		s.place[o.ID] = place
	}
	for i := 2; i < 2*n; i++ {
		p.join(s.nodes[i], s.nodes[i/2], unbounded, cost{})
	}
}

// ready counts the offers whose first day is on or before a day: they are the first on the shelf.
func (s *shelf) ready(by calendar.Day) int {
	return sort.Search(len(s.from), func(i int) bool { return s.from[i] > by })
}

// barred gives the places from which nothing may go to a want: its member's own offers and those refused for it, rising.
func (s *shelf) barred(member int64, refused []int64) []int {
	own := s.own[member]
	places := own[:len(own):len(own)]
	for _, id := range refused {
		if place, ok := s.place[id]; ok {
			places = append(places, place)
		}
	}
	if len(places) > len(own) {
		slices.Sort(places)
		places = slices.Compact(places)
	}
	return places
}

// fitting visits the nodes that together hold all that is ready by a day, without the places that are barred.
func (s *shelf) fitting(by calendar.Day, barred []int, visit func(node int32)) {
	ready, start := s.ready(by), 0
	for _, place := range barred {
		s.between(start, min(place, ready), visit)
		start = place + 1
	}
	s.between(start, ready, visit)
}

// between visits the nodes that hold places lo to hi−1.
func (s *shelf) between(lo, hi int, visit func(node int32)) {
	n := len(s.offers)
	for lo, hi = lo+n, hi+n; lo < hi; lo, hi = lo/2, hi/2 {
		if lo%2 == 1 {
			visit(s.nodes[lo])
			lo++
		}
		if hi%2 == 1 {
			hi--
			visit(s.nodes[hi])
		}
	}
}

// eachShelf visits the shelves that a want may take from, each once.
func (l *layout) eachShelf(w *Want, visit func(*shelf)) {
	for i, v := range w.Varieties {
		if s := l.shelves[kind{v, w.Stock}]; s != nil && !slices.Contains(w.Varieties[:i], v) {
			visit(s)
		}
	}
}
