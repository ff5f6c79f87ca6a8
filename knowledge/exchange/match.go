package exchange

import (
	"slices"

	"shortday/knowledge/calendar"
)

// Result is the best set of handovers of a market, and why the rest stays as it is.
type Result struct {
	Score     Score
	Proposals []Proposal
	Open      []Open    // by want
	OneMore   []OneMore // the most worthwhile first
}

// Proposal is a smallest set of handovers that keeps the co-op's rule by itself, whichever others come to nothing: one
// gift, or a chain of as many units each in which every member gives to the next, closed to a ring where it returns.
type Proposal struct {
	Handovers []Handover
}

// Handover is a number of units from an offer to a want, on a day from First to Last.
type Handover struct {
	Offer, Want     int64
	Giver, Receiver int64
	Batch, Variety  int64
	Stock           Stock
	Number          int
	First, Last     calendar.Day
}

// Units gives the sum over the handovers.
func (p Proposal) Units() int {
	sum := 0
	for _, h := range p.Handovers {
		sum += h.Number
	}
	return sum
}

// Ring reports whether what is handed over returns to the first giver.
func (p Proposal) Ring() bool {
	return p.Handovers[0].Giver == p.Handovers[len(p.Handovers)-1].Receiver
}

// Match finds the best set of handovers (see the package comment), exactly, and divides it into proposals. Equal
// markets give equal results, whatever the order of their offers and wants.
func Match(m Market) Result {
	l := newLayout(m)
	r := Result{Score: l.score(), OneMore: l.oneMore()}
	handovers := l.handovers()
	r.Open = l.whyOpen(handovers)
	if m.Sharing.Balanced {
		r.Proposals = proposals(&l.market, handovers)
		return r
	}
	for _, h := range handovers {
		r.Proposals = append(r.Proposals, Proposal{[]Handover{h}})
	}
	return r
}

// WouldFree gives what an offer would add to the best set of handovers, reckoned by matching with and without it.
func WouldFree(m Market, o Offer) Score {
	without := newLayout(m).score()
	m.Offers = append(slices.Clone(m.Offers), o)
	return newLayout(m).score().Minus(without)
}

// handovers reads who gives what to whom off the network, which is empty afterwards. By want, then offer.
func (l *layout) handovers() []Handover {
	var all []Handover
	for i := range l.market.Wants {
		units := make(map[int]int)
		var order []int
		l.draw(l.wants+int32(i), l.placed(i), func(offer, n int) {
			if units[offer] == 0 {
				order = append(order, offer)
			}
			units[offer] += n
		})
		slices.Sort(order)
		for _, o := range order {
			all = append(all, l.market.handover(&l.market.Offers[o], &l.market.Wants[i], units[o]))
		}
	}
	return all
}

func (m *Market) handover(o *Offer, w *Want, n int) Handover {
	last := w.Last
	if !o.Until.IsZero() {
		last = min(last, o.Until)
	}
	return Handover{
		Offer: o.ID, Want: w.ID, Giver: o.Member, Receiver: w.Member, Batch: o.Batch, Variety: o.Variety,
		Stock: o.Stock, Number: n, First: max(m.Today, o.From), Last: last,
	}
}
