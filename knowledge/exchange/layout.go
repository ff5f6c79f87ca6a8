package exchange

// layout is a market as a network. Every unit wanted starts as a claim in its member's hands and ends at its want,
// either straight, which leaves the want open and costs its worth, or through a batch that its member gives from: that
// batch, an offer of it, a shelf that the want may take from, the want. So a claim spent on giving is a receipt earned.
// The pool lends claims to members who receive more than they give, up to their slack, and takes them from those who
// give more; where sharing is free, all claims are the pool's.
type layout struct {
	*network
	market  Market
	pool    int32
	offers  int32 // node of the first offer; the others follow in order
	wants   int32 // node of the first want
	shelves map[kind]*shelf
	refused map[int64][]int64 // by want: offers
	given   []int32           // by offer: the arc into it
	stock   []int32           // by offer: the arc into its batch
	open    []int32           // by want: the arc that leaves it open
}

func newLayout(m Market) *layout {
	l := &layout{market: m.live(), refused: make(map[int64][]int64)}
	for _, p := range m.Refused {
		l.refused[p.Want] = append(l.refused[p.Want], p.Offer)
	}
	p := newPlumbing()
	source, sink := p.node(1), p.node(1)
	l.pool, l.offers, l.wants = p.node(1), p.node(len(l.market.Offers)), p.node(len(l.market.Wants))
	members := l.joinMembers(p)
	l.joinOffers(p, members)
	l.joinShelves(p)
	l.joinWants(p, members, source, sink)
	n, at := p.network()
	for _, pipes := range [][]int32{l.given, l.stock, l.open} {
		for i := range pipes {
			pipes[i] = at[pipes[i]]
		}
	}
	l.network = n
	l.fill(source, sink)
	return l
}

// joinMembers gives each member's node and lets the pool lend and take.
func (l *layout) joinMembers(p *plumbing) map[int64]int32 {
	members := make(map[int64]int32)
	join := func(member int64) {
		if _, ok := members[member]; ok {
			return
		}
		members[member] = l.pool
		if l.market.Sharing.Balanced {
			hand := p.node(1)
			p.join(l.pool, hand, unbounded, cost{})
			p.join(hand, l.pool, l.market.slack(member), cost{})
			members[member] = hand
		}
	}
	for i := range l.market.Offers {
		join(l.market.Offers[i].Member)
	}
	for i := range l.market.Wants {
		join(l.market.Wants[i].Member)
	}
	return members
}

// joinOffers lets each member give from batches, and each batch through its offers.
func (l *layout) joinOffers(p *plumbing, members map[int64]int32) {
	type owned struct{ member, batch int64 }
	type joined struct{ node, pipe int32 }
	batches := make(map[owned]joined)
	for i := range l.market.Offers {
		o := &l.market.Offers[i]
		key := owned{o.Member, o.Batch}
		b, ok := batches[key]
		if !ok {
			holds, counted := l.market.Batches[o.Batch]
			if !counted {
				holds = unbounded
			}
			b.node = p.node(1)
			b.pipe = p.join(members[o.Member], b.node, holds, cost{})
			batches[key] = b
		}
		l.stock = append(l.stock, b.pipe)
		l.given = append(l.given, p.join(b.node, l.offers+int32(i), o.Number, cost{}))
	}
}

// joinWants gives each member's claims to its wants: straight, or from what stands on the shelves.
func (l *layout) joinWants(p *plumbing, members map[int64]int32, source, sink int32) {
	claims := make(map[int32]int)
	var order []int32
	for i := range l.market.Wants {
		w, node := &l.market.Wants[i], l.wants+int32(i)
		hand := members[w.Member]
		if _, ok := claims[hand]; !ok {
			order = append(order, hand)
		}
		claims[hand] += w.Number
		l.open = append(l.open, p.join(hand, node, w.Number, l.market.worth(w).cost()))
		p.join(node, sink, w.Number, cost{})
		l.eachShelf(w, func(s *shelf) {
			s.fitting(w.Last, s.barred(w.Member, l.refused[w.ID]), func(from int32) { p.join(from, node, w.Number, cost{}) })
		})
	}
	for _, hand := range order {
		p.join(source, hand, claims[hand], cost{})
	}
}

// placed gives the units that want i receives.
func (l *layout) placed(i int) int { return l.market.Wants[i].Number - l.carries(l.open[i]) }

// score sums the worth of all that is placed.
func (l *layout) score() Score {
	var sum Score
	for i := range l.market.Wants {
		sum = sum.Plus(l.market.worth(&l.market.Wants[i]).times(l.placed(i)))
	}
	return sum
}

// draw takes units of the flow out of a node on the way back to the offers they came from.
func (l *layout) draw(node int32, units int, visit func(offer, units int)) {
	if offer := int(node - l.offers); 0 <= offer && offer < len(l.market.Offers) {
		visit(offer, units)
		return
	}
	for k := l.first[node]; k < l.first[node+1] && units > 0; k++ {
		a := &l.arcs[k]
		if !a.back || a.left == 0 || l.costs[a.cost] != (cost{}) {
			continue // what costs is a claim that leaves the want open
		}
		n := min(units, int(a.left))
		a.left -= int32(n)
		units -= n
		l.draw(a.to, n, visit)
	}
}
