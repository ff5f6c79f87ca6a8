package exchange_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/exchange"
)

const today = calendar.Day(739000)

// small draws a co-op small enough to try every set of handovers.
func small(t *rapid.T) exchange.Market {
	m := exchange.Market{
		Today:   today,
		Batches: map[int64]int{},
		Ledgers: map[int64]exchange.Ledger{},
		Sharing: exchange.Sharing{Balanced: rapid.Bool().Draw(t, "balanced"), Credit: rapid.IntRange(-1, 3).Draw(t, "credit")},
	}
	number := func(name string, least, most int) int { return rapid.IntRange(least, most).Draw(t, name) }
	stock := rapid.SampledFrom([]exchange.Stock{exchange.Rooted, exchange.Rooted, exchange.Stools})
	for member := range int64(4) {
		m.Ledgers[member] = exchange.Ledger{Given: number("given", 0, 2), Received: number("received", 0, 2)}
	}
	for i := range number("offers", 0, 5) {
		member := int64(number("giver", 0, 3))
		o := exchange.Offer{
			ID: int64(i), Member: member, Batch: member*2 + int64(number("batch", 0, 1)), Variety: int64(number("variety", 0, 2)),
			Stock: stock.Draw(t, "stock"), Number: number("number", 0, 2), From: today.Add(number("from", -5, 30)),
		}
		if number("ends", 0, 3) == 0 {
			o.Until = today.Add(number("until", -1, 40))
		}
		if number("counted", 0, 1) == 0 {
			m.Batches[o.Batch] = number("stock", 0, 3)
		}
		m.Offers = append(m.Offers, o)
	}
	for i := range number("wants", 0, 4) {
		m.Wants = append(m.Wants, exchange.Want{
			ID: int64(i), Member: int64(number("receiver", 0, 3)),
			Varieties: rapid.SliceOfN(rapid.Int64Range(0, 2), 1, 3).Draw(t, "varieties"),
			Stock:     stock.Draw(t, "stock"), Number: number("number", 0, 2), Last: today.Add(number("last", -2, 40)),
		})
	}
	for range number("refused", 0, 4) {
		m.Refused = append(m.Refused, exchange.Pair{Offer: int64(number("offer", 0, 5)), Want: int64(number("want", 0, 4))})
	}
	return m
}

// serves is the definition of a handover, told once more.
func serves(m exchange.Market, o exchange.Offer, w exchange.Want) bool {
	return !slices.Contains(m.Refused, exchange.Pair{Offer: o.ID, Want: w.ID}) && o.Member != w.Member && o.Stock == w.Stock && slices.Contains(w.Varieties, o.Variety) &&
		o.From <= w.Last && w.Last >= m.Today && (o.Until == 0 || o.Until >= m.Today && o.Until >= o.From)
}

// books keeps what a set of handovers has used up.
type books struct {
	m       exchange.Market
	offers  map[int64]int
	batches map[int64]int
	wants   map[int64]int
	got     map[int64]int // received − given
	score   exchange.Score
}

func open(m exchange.Market) *books {
	return &books{m: m, offers: map[int64]int{}, batches: map[int64]int{}, wants: map[int64]int{}, got: map[int64]int{}}
}

func (b *books) hand(o exchange.Offer, w exchange.Want, n int) {
	b.offers[o.ID] += n
	b.batches[o.Batch] += n
	b.wants[w.ID] += n
	b.got[w.Member] += n
	b.got[o.Member] -= n
	b.score.Units += n
	b.score.Urgency += n * max(0, 26-w.Last.Sub(b.m.Today)/7)
	if l := b.m.Ledgers[w.Member]; l.Given > l.Received {
		b.score.Owed += n
	}
}

func (b *books) room(o exchange.Offer, w exchange.Want) int {
	room := min(o.Number-b.offers[o.ID], w.Number-b.wants[w.ID])
	if holds, ok := b.m.Batches[o.Batch]; ok {
		room = min(room, holds-b.batches[o.Batch])
	}
	return max(0, room)
}

func (b *books) kept() bool {
	for member, got := range b.got {
		l := b.m.Ledgers[member]
		if after := l.Received - l.Given + got; b.m.Sharing.Balanced && got > 0 && after > b.m.Sharing.Credit {
			return false
		}
	}
	return true
}

// best tries every set of handovers.
func best(m exchange.Market) exchange.Score {
	type pair struct {
		o exchange.Offer
		w exchange.Want
	}
	var pairs []pair
	for _, o := range m.Offers {
		for _, w := range m.Wants {
			if serves(m, o, w) {
				pairs = append(pairs, pair{o, w})
			}
		}
	}
	var top exchange.Score
	b := open(m)
	var try func(i int)
	try = func(i int) {
		if i == len(pairs) {
			if b.kept() && b.score.Compare(top) > 0 {
				top = b.score
			}
			return
		}
		p := pairs[i]
		before := b.score
		for n := range b.room(p.o, p.w) + 1 {
			b.hand(p.o, p.w, n)
			try(i + 1)
			b.hand(p.o, p.w, -n)
			b.score = before
		}
	}
	try(0)
	return top
}

func byID(m exchange.Market) (map[int64]exchange.Offer, map[int64]exchange.Want) {
	offers, wants := map[int64]exchange.Offer{}, map[int64]exchange.Want{}
	for _, o := range m.Offers {
		offers[o.ID] = o
	}
	for _, w := range m.Wants {
		wants[w.ID] = w
	}
	return offers, wants
}

// audit enters the proposals that are agreed into the books and holds them against every rule.
func audit(t require.TestingT, m exchange.Market, agreed []exchange.Proposal) *books {
	offers, wants := byID(m)
	b := open(m)
	for _, p := range agreed {
		for i, h := range p.Handovers {
			o, w := offers[h.Offer], wants[h.Want]
			require.True(t, serves(m, o, w))
			require.Positive(t, h.Number)
			require.LessOrEqual(t, h.Number, b.room(o, w), "more is given than there is")
			require.LessOrEqual(t, h.First, h.Last)
			require.Equal(t, []int64{o.Member, w.Member, o.Variety, o.Batch}, []int64{h.Giver, h.Receiver, h.Variety, h.Batch})
			require.Equal(t, p.Handovers[0].Number, h.Number)
			if i > 0 {
				require.Equal(t, p.Handovers[i-1].Receiver, h.Giver, "a chain goes from hand to hand")
			}
			b.hand(o, w, h.Number)
		}
	}
	require.True(t, b.kept(), "the balance is kept")
	return b
}

// check holds a result against its market: the books as a whole, each proposal alone, and any that are agreed together.
func check(t require.TestingT, m exchange.Market, r exchange.Result, agreed func(i int) bool) {
	b := audit(t, m, r.Proposals)
	require.Equal(t, r.Score, b.score, "the proposals add up to the result")
	var some []exchange.Proposal
	for i, p := range r.Proposals {
		audit(t, m, []exchange.Proposal{p})
		if !m.Sharing.Balanced {
			require.Len(t, p.Handovers, 1)
		}
		if agreed(i) {
			some = append(some, p)
		}
	}
	audit(t, m, some)
	left := map[int64]int{}
	for _, o := range r.Open {
		left[o.Want] = o.Number
		require.False(t, !m.Sharing.Balanced && o.Why == exchange.Balance)
	}
	for _, w := range m.Wants {
		if w.Number > 0 && w.Last >= m.Today {
			require.Equal(t, w.Number-b.wants[w.ID], left[w.ID], "what is open is told")
		}
	}
}

func TestMatchIsTheBestOfAll(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := small(t)
		r := exchange.Match(m)
		require.Equal(t, best(m), r.Score)
		check(t, m, r, func(int) bool { return rapid.Bool().Draw(t, "agreed") })
	})
}

func TestOneMoreIsWhatAnOutsidersOfferAdds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := small(t)
		frees := map[int64]exchange.Score{}
		for _, more := range exchange.Match(m).OneMore {
			if more.Stock == exchange.Rooted {
				frees[more.Variety] = more.Frees
			}
		}
		for variety := range int64(3) {
			o := exchange.Offer{ID: 99, Member: 99, Batch: 99, Variety: variety, Stock: exchange.Rooted, Number: 1, From: today}
			added := exchange.WouldFree(m, o)
			require.Equal(t, frees[variety], added)
			require.GreaterOrEqual(t, added.Compare(exchange.Score{}), 0)
		}
	})
}

func TestAnOfferMoreNeverLowersTheTotal(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := small(t)
		o := exchange.Offer{
			ID: 99, Member: rapid.Int64Range(0, 4).Draw(t, "member"), Batch: 99, Variety: rapid.Int64Range(0, 2).Draw(t, "variety"),
			Stock: exchange.Rooted, Number: 3, From: today.Add(rapid.IntRange(0, 20).Draw(t, "from")),
		}
		require.GreaterOrEqual(t, exchange.WouldFree(m, o).Compare(exchange.Score{}), 0)
	})
}

// village draws a co-op of a given size: ten offers and ten wants a member, over 300 varieties of which the n-th is
// n times rarer than the first, some wants taking any of several.
func village(seed uint64, members int, sharing exchange.Sharing) exchange.Market {
	rng := rand.New(rand.NewPCG(seed, 1))
	var reach []float64
	sum := 0.0
	for rank := range 300 {
		sum += 1 / float64(rank+1)
		reach = append(reach, sum)
	}
	variety := func() int64 {
		at, _ := slices.BinarySearch(reach, rng.Float64()*sum)
		return int64(at)
	}
	stocks := []exchange.Stock{exchange.Stools, exchange.Unrooted, exchange.Rooted, exchange.Plants}
	m := exchange.Market{Today: today, Batches: map[int64]int{}, Ledgers: map[int64]exchange.Ledger{}, Sharing: sharing}
	for member := range int64(members) {
		m.Ledgers[member] = exchange.Ledger{Given: rng.IntN(20), Received: rng.IntN(20)}
		for i := range int64(10) {
			batch := member*10 + i - i%2*int64(rng.IntN(2)) // now and then two offers of one batch
			m.Batches[batch] = 4 + rng.IntN(8)
			m.Offers = append(m.Offers, exchange.Offer{
				ID: member*10 + i, Member: member, Batch: batch, Variety: variety(), Stock: stocks[rng.IntN(4)],
				Number: 1 + rng.IntN(10), From: today.Add(rng.IntN(120)),
			})
			w := exchange.Want{
				ID: member*10 + i, Member: member, Varieties: []int64{variety()}, Stock: stocks[rng.IntN(4)],
				Number: 1 + rng.IntN(10), Last: today.Add(rng.IntN(200)),
			}
			for rng.IntN(5) == 0 {
				w.Varieties = append(w.Varieties, variety())
			}
			m.Wants = append(m.Wants, w)
		}
	}
	for range members {
		m.Refused = append(m.Refused, exchange.Pair{Offer: int64(rng.IntN(len(m.Offers))), Want: int64(rng.IntN(len(m.Wants)))})
	}
	return m
}

// greedy hands over whatever it can, the most urgent first.
func greedy(m exchange.Market) exchange.Score {
	wants := slices.Clone(m.Wants)
	slices.SortStableFunc(wants, func(a, b exchange.Want) int { return a.Last.Sub(b.Last) })
	b := open(m)
	for _, w := range wants {
		for _, o := range m.Offers {
			if !serves(m, o, w) {
				continue
			}
			n := b.room(o, w)
			if l := m.Ledgers[w.Member]; m.Sharing.Balanced {
				n = min(n, max(0, m.Sharing.Credit-max(l.Received-l.Given, 0)-max(b.got[w.Member], 0)))
			}
			b.hand(o, w, n)
		}
	}
	return b.score
}

func TestVillages(t *testing.T) {
	t.Parallel()
	for seed := range uint64(20) {
		for _, sharing := range []exchange.Sharing{{}, {Balanced: true}, {Balanced: true, Credit: 5}, {Balanced: true, Credit: 40}} {
			m := village(seed, 12, sharing)
			r := exchange.Match(m)
			check(t, m, r, func(i int) bool { return i%3 == 0 })
			require.GreaterOrEqual(t, r.Score.Units, greedy(m).Units)

			shuffled := m
			shuffled.Offers, shuffled.Wants = slices.Clone(m.Offers), slices.Clone(m.Wants)
			rng := rand.New(rand.NewPCG(seed, 2))
			rng.Shuffle(len(m.Offers), func(i, j int) {
				shuffled.Offers[i], shuffled.Offers[j] = shuffled.Offers[j], shuffled.Offers[i]
			})
			slices.Reverse(shuffled.Wants)
			require.Equal(t, r, exchange.Match(shuffled), "the order of what comes in changes nothing")
		}
	}
}
