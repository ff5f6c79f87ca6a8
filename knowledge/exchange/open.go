package exchange

import (
	"cmp"
	"maps"
	"slices"
)

// Reason is why a want stays open, in whole or in part.
type Reason string

// The reasons.
const (
	NoneOffered Reason = "none offered" // no other member offers such plants
	Declined    Reason = "refused"      // all that is offered was refused for it
	TooLate     Reason = "too late"     // all other that is offered is ready only after the want's last day
	Placed      Reason = "placed"       // all that would serve goes where it counts as much or more
	Balance     Reason = "balance"      // some is left, or goes where it counts less, because of the credit limit
)

// Open is a want that is not served in full.
type Open struct {
	Want   int64
	Number int // units still wanted
	Why    Reason
}

// OneMore is what a unit more would free, if someone who asks for nothing in return offered it today: the worth of all
// that could then be handed over and cannot now.
type OneMore struct {
	Variety int64
	Stock   Stock
	Want    int64 // the one it would go to; others may follow, served by what that one then leaves
	Frees   Score
}

// oneMore finds, for each kind that is wanted, the want through which a unit more frees most: the cheapest way from
// there back to the pool, along what the best flow leaves usable.
func (l *layout) oneMore() []OneMore {
	best := make(map[kind]OneMore)
	for _, v := range l.distances(l.pool, -1, true) {
		i := int(v - l.wants)
		if i < 0 || i >= len(l.market.Wants) {
			continue
		}
		w := &l.market.Wants[i]
		frees := l.nodes[v].price.minus(l.nodes[l.pool].price).minus(l.seen[v].far).score()
		for _, variety := range w.Varieties {
			k := kind{variety, w.Stock}
			more := OneMore{Variety: variety, Stock: w.Stock, Want: w.ID, Frees: frees}
			if was, ok := best[k]; frees.Compare(Score{}) > 0 && (!ok || more.before(was)) {
				best[k] = more
			}
		}
	}
	return slices.SortedFunc(maps.Values(best), func(a, b OneMore) int {
		if a.before(b) {
			return -1
		}
		return 1
	})
}

// before ranks by what is freed, then by want, variety and stock, which no two in one list share.
func (o OneMore) before(p OneMore) bool {
	return cmp.Or(p.Frees.Compare(o.Frees), cmp.Compare(o.Want, p.Want), cmp.Compare(o.Variety, p.Variety),
		cmp.Compare(o.Stock, p.Stock)) < 0
}

// whyOpen explains each want that is not served in full.
func (l *layout) whyOpen(handovers []Handover) []Open {
	e := explainer{layout: l, spare: l.spare(handovers), leasts: make(map[*shelf][]least)}
	var all []Open
	for i := range l.market.Wants {
		if n := l.carries(l.open[i]); n > 0 {
			w := &l.market.Wants[i]
			all = append(all, Open{Want: w.ID, Number: n, Why: e.why(w)})
		}
	}
	return all
}

// spare gives, by offer, the least worth of a unit that it could give elsewhere instead; nothing where some is left.
func (l *layout) spare(handovers []Handover) []Score {
	byOffer, byBatch := make(map[int64]Score), make(map[int32]Score)
	worths := make(map[int64]Score, len(l.market.Wants))
	for i := range l.market.Wants {
		worths[l.market.Wants[i].ID] = l.market.worth(&l.market.Wants[i])
	}
	for _, h := range handovers {
		lower(byOffer, h.Offer, worths[h.Want])
	}
	for i := range l.market.Offers {
		if s, ok := byOffer[l.market.Offers[i].ID]; ok {
			lower(byBatch, l.stock[i], s)
		}
	}
	all := make([]Score, len(l.market.Offers))
	for i := range all {
		switch {
		case l.arcs[l.given[i]].left == 0:
			all[i] = byOffer[l.market.Offers[i].ID]
		case l.arcs[l.stock[i]].left == 0:
			all[i] = byBatch[l.stock[i]]
		}
	}
	return all
}

func lower[K comparable](m map[K]Score, key K, s Score) {
	if was, ok := m[key]; !ok || s.Compare(was) < 0 {
		m[key] = s
	}
}

// explainer says why a want stays open; it reckons a shelf's least worths when first asked for them.
type explainer struct {
	*layout
	spare  []Score
	leasts map[*shelf][]least
}

func (e explainer) why(w *Want) Reason {
	reason, worth := NoneOffered, e.market.worth(w)
	e.eachShelf(w, func(s *shelf) {
		barred := s.barred(w.Member, e.refused[w.ID])
		switch {
		case reason == Placed || reason == Balance:
		case len(s.offers) > len(barred):
			reason = TooLate
		case reason == NoneOffered && len(s.offers) > len(s.own[w.Member]):
			reason = Declined
		}
		if reason == Balance {
			return
		}
		if score, any := e.least(s, w, barred); any {
			reason = Placed
			if score.Compare(worth) < 0 {
				reason = Balance
			}
		}
	})
	return reason
}

// least gives the least spare worth of what stands ready for a want on a shelf, and whether anything does.
func (e explainer) least(s *shelf, w *Want, barred []int) (score Score, any bool) {
	ready := s.ready(w.Last)
	if ready == 0 {
		return Score{}, false
	}
	if len(barred) == len(s.own[w.Member]) { // nothing was refused
		if e.leasts[s] == nil {
			e.leasts[s] = e.leastOf(s)
		}
		return e.leasts[s][ready-1].without(w.Member)
	}
	for place, i := range s.offers[:ready] {
		if _, is := slices.BinarySearch(barred, place); is {
			continue
		}
		if !any || e.spare[i].Compare(score) < 0 {
			score, any = e.spare[i], true
		}
	}
	return score, any
}

// leastOf gives, for each place on a shelf, the least spare worth up to there.
func (e explainer) leastOf(s *shelf) []least {
	all := make([]least, len(s.offers))
	var so least
	for place, i := range s.offers {
		so.add(e.market.Offers[i].Member, e.spare[i])
		all[place] = so
	}
	return all
}

// least holds the two least worths of different members, the least first.
type least struct {
	members [2]int64
	scores  [2]Score
	n       int
}

func (l *least) add(member int64, s Score) {
	for i := range l.n {
		if l.members[i] == member {
			if s.Compare(l.scores[i]) < 0 {
				l.scores[i] = s
			}
			l.order()
			return
		}
	}
	switch {
	case l.n < 2:
		l.members[l.n], l.scores[l.n] = member, s
		l.n++
	case s.Compare(l.scores[1]) < 0:
		l.members[1], l.scores[1] = member, s
	}
	l.order()
}

func (l *least) order() {
	if l.n == 2 && l.scores[1].Compare(l.scores[0]) < 0 {
		l.members[0], l.members[1] = l.members[1], l.members[0]
		l.scores[0], l.scores[1] = l.scores[1], l.scores[0]
	}
}

// without gives the least worth that is not the member's own, and whether there is one.
func (l least) without(member int64) (Score, bool) {
	for i := range l.n {
		if l.members[i] != member {
			return l.scores[i], true
		}
	}
	return Score{}, false
}
