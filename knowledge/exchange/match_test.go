package exchange_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/exchange"
)

// offer gives so many rooted cuttings from today on; batch and id are one.
func offer(id, member, variety int64, number int) exchange.Offer {
	return exchange.Offer{ID: id, Member: member, Batch: id, Variety: variety, Stock: exchange.Rooted, Number: number, From: today}
}

func want(id, member, variety int64, number, days int) exchange.Want {
	return exchange.Want{
		ID: id, Member: member, Varieties: []int64{variety}, Stock: exchange.Rooted, Number: number, Last: today.Add(days),
	}
}

// ring is so many members of whom each offers what the next one wants.
func ring(members int64, number int) (offers []exchange.Offer, wants []exchange.Want) {
	for m := range members {
		offers = append(offers, offer(m, m, m, number))
		wants = append(wants, want(m, (m+1)%members, m, number, 30))
	}
	return offers, wants
}

func told(p exchange.Proposal) string {
	text := ""
	for _, h := range p.Handovers {
		text += fmt.Sprintf("%d gives %d of %d to %d; ", h.Giver, h.Number, h.Variety, h.Receiver)
	}
	return text
}

func TestMatch(t *testing.T) {
	t.Parallel()
	three, threeWants := ring(3, 4)
	five, fiveWants := ring(5, 2)
	balance := exchange.Sharing{Balanced: true}
	owed := map[int64]exchange.Ledger{3: {Given: 5, Received: 2}}
	late := offer(1, 1, 7, 5)
	late.From = today.Add(11)
	over := offer(1, 1, 7, 5)
	over.Until = today.Add(-1)
	second := offer(2, 1, 8, 10)
	second.Batch = 1
	for _, c := range []struct {
		name   string
		market exchange.Market
		want   []string
		open   []exchange.Open
	}{
		{"a gift", exchange.Market{Offers: []exchange.Offer{offer(1, 1, 7, 5)}, Wants: []exchange.Want{want(1, 2, 7, 3, 10)}},
			[]string{"1 gives 3 of 7 to 2; "}, nil},
		{"no gift in balance", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 5)}, Wants: []exchange.Want{want(1, 2, 7, 3, 10)}, Sharing: balance},
			nil, []exchange.Open{{Want: 1, Number: 3, Why: exchange.Balance}}},
		{"a gift on credit", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 5)}, Wants: []exchange.Want{want(1, 2, 7, 3, 10)},
			Sharing: exchange.Sharing{Balanced: true, Credit: 2}},
			[]string{"1 gives 2 of 7 to 2; "}, []exchange.Open{{Want: 1, Number: 1, Why: exchange.Balance}}},
		{"what was given may be taken back", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 5)}, Wants: []exchange.Want{want(1, 3, 7, 3, 10)}, Sharing: balance, Ledgers: owed},
			[]string{"1 gives 3 of 7 to 3; "}, nil},
		{"a balance already past the limit is not made worse", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 5)}, Wants: []exchange.Want{want(1, 2, 7, 3, 10)},
			Sharing: exchange.Sharing{Balanced: true, Credit: 2}, Ledgers: map[int64]exchange.Ledger{2: {Received: 9}}},
			nil, []exchange.Open{{Want: 1, Number: 3, Why: exchange.Balance}}},
		{"a ring of three", exchange.Market{Offers: three, Wants: threeWants, Sharing: balance},
			[]string{"0 gives 4 of 0 to 1; 1 gives 4 of 1 to 2; 2 gives 4 of 2 to 0; "}, nil},
		{"the same, freely", exchange.Market{Offers: three, Wants: threeWants},
			[]string{"0 gives 4 of 0 to 1; ", "1 gives 4 of 1 to 2; ", "2 gives 4 of 2 to 0; "}, nil},
		{"a ring of five in balance", exchange.Market{Offers: five, Wants: fiveWants, Sharing: balance},
			[]string{"0 gives 2 of 0 to 1; 1 gives 2 of 1 to 2; 2 gives 2 of 2 to 3; 3 gives 2 of 3 to 4; 4 gives 2 of 4 to 0; "}, nil},
		{"an urgent want loses nothing", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 3)}, Wants: []exchange.Want{want(1, 2, 7, 3, 60), want(2, 3, 7, 3, 10)}},
			[]string{"1 gives 3 of 7 to 3; "}, []exchange.Open{{Want: 1, Number: 3, Why: exchange.Placed}}},
		{"of two as urgent, the one who is owed", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 3)}, Wants: []exchange.Want{want(1, 2, 7, 3, 10), want(2, 3, 7, 3, 10)}, Ledgers: owed},
			[]string{"1 gives 3 of 7 to 3; "}, []exchange.Open{{Want: 1, Number: 3, Why: exchange.Placed}}},
		{"more units before more urgent ones", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 1), offer(2, 2, 8, 1)},
			Wants: []exchange.Want{
				{ID: 1, Member: 3, Varieties: []int64{7, 8}, Stock: exchange.Rooted, Number: 1, Last: today}, want(2, 4, 7, 1, 200),
			}},
			[]string{"2 gives 1 of 8 to 3; ", "1 gives 1 of 7 to 4; "}, nil},
		{"ready too late", exchange.Market{Offers: []exchange.Offer{late}, Wants: []exchange.Want{want(1, 2, 7, 3, 10)}},
			nil, []exchange.Open{{Want: 1, Number: 3, Why: exchange.TooLate}}},
		{"ready on the last day", exchange.Market{Offers: []exchange.Offer{late}, Wants: []exchange.Want{want(1, 2, 7, 3, 11)}},
			[]string{"1 gives 3 of 7 to 2; "}, nil},
		{"an offer that is over", exchange.Market{Offers: []exchange.Offer{over}, Wants: []exchange.Want{want(1, 2, 7, 3, 10)}},
			nil, []exchange.Open{{Want: 1, Number: 3, Why: exchange.NoneOffered}}},
		{"nobody is supplied from their own offer", exchange.Market{
			Offers: []exchange.Offer{offer(1, 2, 7, 5)}, Wants: []exchange.Want{want(1, 2, 7, 3, 10)}},
			nil, []exchange.Open{{Want: 1, Number: 3, Why: exchange.NoneOffered}}},
		{"what was refused is not proposed again", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 5)}, Wants: []exchange.Want{want(1, 2, 7, 3, 10)},
			Refused: []exchange.Pair{{Offer: 1, Want: 1}}},
			nil, []exchange.Open{{Want: 1, Number: 3, Why: exchange.Declined}}},
		{"what was refused goes another way round", exchange.Market{
			Offers:  []exchange.Offer{offer(1, 1, 7, 3), offer(2, 4, 7, 3)},
			Wants:   []exchange.Want{want(1, 2, 7, 3, 10), want(2, 3, 7, 3, 60)},
			Refused: []exchange.Pair{{Offer: 1, Want: 1}}},
			[]string{"4 gives 3 of 7 to 2; ", "1 gives 3 of 7 to 3; "}, nil},
		{"the other offer is used up", exchange.Market{
			Offers:  []exchange.Offer{offer(1, 1, 7, 3), offer(2, 4, 7, 1)},
			Wants:   []exchange.Want{want(1, 2, 7, 3, 10)},
			Refused: []exchange.Pair{{Offer: 1, Want: 1}}},
			[]string{"4 gives 1 of 7 to 2; "}, []exchange.Open{{Want: 1, Number: 2, Why: exchange.Placed}}},
		{"offers of one batch share its number", exchange.Market{
			Offers: []exchange.Offer{offer(1, 1, 7, 10), second}, Batches: map[int64]int{1: 6},
			Wants: []exchange.Want{want(1, 2, 7, 5, 10), want(2, 3, 8, 5, 20)}},
			[]string{"1 gives 5 of 7 to 2; ", "1 gives 1 of 8 to 3; "}, []exchange.Open{{Want: 2, Number: 4, Why: exchange.Placed}}},
		{"nothing at all", exchange.Market{}, nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.market.Today = today
			r := exchange.Match(c.market)
			var got []string
			for _, p := range r.Proposals {
				got = append(got, told(p))
			}
			require.Equal(t, c.want, got)
			require.Equal(t, c.open, r.Open)
			check(t, c.market, r, func(i int) bool { return i%2 == 0 })
		})
	}
}

// A ring in which two members have credit falls apart into two chains, either of which may come to nothing.
func TestCreditCutsARing(t *testing.T) {
	t.Parallel()
	offers, wants := ring(4, 2)
	r := exchange.Match(exchange.Market{
		Today: today, Offers: offers, Wants: wants, Sharing: exchange.Sharing{Balanced: true},
		Ledgers: map[int64]exchange.Ledger{1: {Given: 2}, 3: {Given: 3}},
	})
	require.Len(t, r.Proposals, 2)
	require.Equal(t, "1 gives 2 of 1 to 2; 2 gives 2 of 2 to 3; ", told(r.Proposals[0]))
	require.Equal(t, "3 gives 2 of 3 to 0; 0 gives 2 of 0 to 1; ", told(r.Proposals[1]))
	require.False(t, r.Proposals[0].Ring())
	require.Equal(t, 4, r.Proposals[0].Units())
}

// In balance one offer more can close a ring and free all of it.
func TestOneOfferMoreClosesARing(t *testing.T) {
	t.Parallel()
	offers, wants := ring(5, 1)
	m := exchange.Market{Today: today, Offers: offers[:4], Wants: wants, Sharing: exchange.Sharing{Balanced: true}}
	require.Zero(t, exchange.Match(m).Score)
	require.Equal(t, exchange.Score{Units: 5, Urgency: 5 * (26 - 30/7)}, exchange.WouldFree(m, offers[4]))
	require.Empty(t, exchange.Match(m).OneMore, "a gift from outside leaves whoever is last with more than they gave")
}

// The unit offered goes to one want, and what that one then leaves to another.
func TestOneMoreFreesWhatOthersLeave(t *testing.T) {
	t.Parallel()
	either := exchange.Want{ID: 1, Member: 2, Varieties: []int64{7, 8}, Stock: exchange.Rooted, Number: 1, Last: today.Add(7)}
	r := exchange.Match(exchange.Market{
		Today: today, Offers: []exchange.Offer{offer(1, 1, 7, 1)}, Wants: []exchange.Want{either, want(2, 3, 7, 1, 70)},
	})
	frees := exchange.Score{Units: 1, Urgency: 16}
	require.Equal(t, []exchange.OneMore{
		{Variety: 7, Stock: exchange.Rooted, Want: 1, Frees: frees}, {Variety: 8, Stock: exchange.Rooted, Want: 1, Frees: frees},
	}, r.OneMore)
}

func TestUrgency(t *testing.T) {
	t.Parallel()
	for days, want := range map[int]int{-3: 26, 0: 26, 6: 26, 7: 25, 13: 25, 14: 24, 181: 1, 182: 0, 400: 0} {
		require.Equal(t, want, exchange.Urgency(today, today.Add(days)), days)
	}
}
