package register_test

import (
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func (b *bazaar) deeds() map[string]func(*rapid.T) {
	ctx := b.t.Context()
	number := rapid.IntRange(1, 6)
	return map[string]func(*rapid.T){
		"offer": func(t *rapid.T) {
			i, n := rapid.IntRange(0, 2).Draw(t, "who"), number.Draw(t, "n")
			offers := rapid.IntRange(1, 2).Draw(t, "offers") // of one batch
			out, err := b.Add(ctx, b.who(i), register.Stock{Variety: b.kind.ID, Stage: crop.Potted, Count: offers*n + 1})
			require.NoError(t, err)
			batch := out.Batches[0].ID
			b.stock[batch] = n + 1
			for range offers {
				o, err := b.MakeOffer(ctx, b.who(i), register.Offering{Batch: batch, Number: n})
				require.NoError(t, err)
				b.offers[o.ID] = struct {
					batch  int64
					number int
				}{batch, n}
			}
			_, err = b.MakeOffer(ctx, b.who(i), register.Offering{Batch: batch, Number: 2})
			require.Equal(t, fault.Taken, fault.KindOf(err), "one is left that is not offered")
			if offers > 1 { // more is offered than there is once plants are missing
				_, err = b.Count(ctx, b.who(i), register.Tally{Batch: batch, Number: n + 1})
				require.NoError(t, err)
			}
		},
		"want": func(t *rapid.T) {
			n := number.Draw(t, "n")
			w, err := b.MakeWant(ctx, b.who(rapid.IntRange(0, 2).Draw(t, "who")), register.Wish{Variety: b.kind.ID, Stock: exchange.Plants, Number: n, Last: day(b.t, "2026-03-01")})
			require.NoError(t, err)
			b.wants[w.ID] = n
		},
		"propose": func(t *rapid.T) {
			_, made, err := b.Propose(ctx, b.who(0))
			require.NoError(t, err)
			for _, p := range made {
				b.says[p.ID] = map[int]bool{}
				for _, s := range p.Swaps {
					at := func(id int64) int {
						return slices.IndexFunc(b.members, func(m register.Member) bool { return m.ID == id })
					}
					b.swaps[s.ID] = dealt{state: register.Proposed, offer: s.Offer, want: s.Want, batch: s.Batch, number: s.Number, proposal: p.ID, giver: at(s.Giver), receiver: at(s.Receiver)}
				}
			}
		},
		"agree":  func(t *rapid.T) { b.answer(t, true) },
		"refuse": func(t *rapid.T) { b.answer(t, false) },
		"agree all": func(t *rapid.T) {
			for _, id := range slices.Sorted(maps.Keys(b.says)) {
				for i := range b.members {
					b.answers(t, id, i, true)
				}
			}
		},
		"given": func(t *rapid.T) {
			id, ok := b.pick(t, register.Agreed)
			if !ok {
				return
			}
			d, n := b.swaps[id], number.Draw(t, "n")
			_, err := b.Given(ctx, b.who(d.giver), register.Transfer{Swap: id, Number: n})
			if d.state != register.Agreed || n > d.number {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			d.state, d.given = register.HandedOver, n
			b.swaps[id] = d
		},
		"received": func(t *rapid.T) {
			id, ok := b.pick(t, register.HandedOver)
			if !ok {
				return
			}
			d, n := b.swaps[id], number.Draw(t, "n")
			s, _, err := b.Received(ctx, b.who(d.receiver), register.Transfer{Swap: id, Number: n})
			if d.state != register.HandedOver || n > b.stock[d.batch] {
				require.Error(t, err)
				return
			}
			others, _ := b.held(d.batch)
			if others -= d.given; err != nil { // more than was given, of what others were given
				require.Greater(t, n, d.given)
				require.Less(t, b.stock[d.batch]-n, others)
				return
			}
			d.state, d.received, d.made = register.Arrived, n, s.Made
			b.swaps[id] = d
			b.stock[d.batch] -= n
			b.stock[s.Made] = n
			b.shrink(t, d.batch)
		},
		"correct": func(t *rapid.T) {
			id, ok := b.pick(t, register.Arrived)
			if !ok {
				return
			}
			d, n := b.swaps[id], rapid.IntRange(0, 7).Draw(t, "n")
			_, err := b.Correct(ctx, b.who(d.receiver), id, n, "counted again")
			_, given := b.held(d.batch)
			more := n - d.received
			if d.state != register.Arrived || more == 0 || b.stock[d.batch]-more < given || b.stock[d.made]+more < 0 {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			d.received = n
			b.swaps[id] = d
			b.stock[d.batch] -= more
			b.stock[d.made] += more
			b.shrink(t, d.batch)
		},
		"cancel": func(t *rapid.T) {
			id, ok := b.pick(t, register.Agreed)
			if !ok {
				return
			}
			d := b.swaps[id]
			_, _, err := b.Cancel(ctx, b.who(d.giver), id, "frost")
			if d.state != register.Agreed && d.state != register.HandedOver {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			d.state = register.SwapCanceled
			b.swaps[id] = d
		},
		"meet": func(t *rapid.T) {
			id, ok := b.pick(t, register.Agreed)
			if !ok {
				return
			}
			d, who, hour := b.swaps[id], rapid.IntRange(0, 2).Draw(t, "who"), rapid.IntRange(8, 11).Draw(t, "hour")
			at := day(b.t, "2026-02-02").UTC().Add(time.Duration(hour) * time.Hour)
			_, err := b.Meet(ctx, b.who(who), register.Appointment{Swap: id, Day: day(b.t, "2026-02-02"), Hour: hour, Spot: "the stall"})
			if d.state != register.Agreed || who != d.giver && who != d.receiver || b.meets[id].Equal(at) {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			b.meets[id] = at
		},
		"call off": func(t *rapid.T) {
			id, ok := b.pick(t, register.Agreed)
			if !ok {
				return
			}
			d := b.swaps[id]
			_, err := b.CallOff(ctx, b.who(d.receiver), id)
			if d.state != register.Agreed || b.meets[id].IsZero() {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			delete(b.meets, id)
		},
		"count": func(t *rapid.T) {
			id, ok := some(t, b.stock, "batch")
			if !ok || b.stock[id] == 0 {
				return
			}
			n := rapid.IntRange(0, 7).Draw(t, "n")
			_, err := b.Count(ctx, b.who(b.ownerOf(t, id)), register.Tally{Batch: id, Number: n, Died: true})
			if _, given := b.held(id); n < given {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			b.stock[id] = n
			b.shrink(t, id)
		},
	}
}

func (b *bazaar) answer(t *rapid.T, yes bool) {
	id, ok := some(t, b.says, "proposal")
	if !ok {
		return
	}
	b.answers(t, id, rapid.IntRange(0, 2).Draw(t, "who"), yes)
}

func (b *bazaar) answers(t *rapid.T, id int64, i int, yes bool) {
	open, touches, parties := false, false, map[int]bool{}
	for _, d := range b.swaps {
		if d.proposal == id {
			open = open || d.state == register.Proposed
			touches = touches || d.giver == i || d.receiver == i
			parties[d.giver], parties[d.receiver] = true, true
		}
	}
	var err error
	if yes {
		_, err = b.Agree(b.t.Context(), b.who(i), id)
	} else {
		_, err = b.Refuse(b.t.Context(), b.who(i), id, 0, "")
	}
	if !open || !touches || yes && b.says[id][i] {
		require.Error(t, err)
		return
	}
	require.NoError(t, err)
	b.says[id][i] = yes
	state := register.Agreed
	if !yes {
		state = register.SwapRefused
	} else if len(b.says[id]) < len(parties) {
		return
	}
	b.turn(id, state)
}

// TestSwapModel plays deeds of three members in any order against the register and against a handful of maps.
func TestSwapModel(t *testing.T) {
	t.Parallel()
	g := plant(t)
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		b := openBazaar(t, g, runs)
		deeds := b.deeds()
		names := []string{ // what leads on first: rapid draws from the front more often
			"given", "received", "given", "received", "correct", "received", "given", "count", "propose", "agree all",
			"meet", "cancel", "meet", "call off", "want", "offer", "agree", "refuse",
		}
		begin := []string{"offer", "want", "offer", "want", "propose", "agree all"}
		for _, deed := range append(begin, rapid.SliceOfN(rapid.SampledFrom(names), 3, 14).Draw(t, "deeds")...) {
			deeds[deed](t)
			if deed != "offer" && deed != "want" {
				b.agrees(t)
			}
		}
	})
	g.sound()
}
