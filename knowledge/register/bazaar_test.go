package register_test

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// dealt is what the model knows of a swap.
type dealt struct {
	state                   register.SwapState
	offer, want, batch      int64
	number, given, received int
	made                    int64
	proposal                int64
	giver, receiver         int
}

// takes is what a swap takes up of its offer and its want.
func (d dealt) takes() int {
	switch d.state {
	case register.Proposed, register.Agreed:
		return d.number
	case register.HandedOver:
		return d.given
	case register.Arrived:
		return d.received
	}
	return 0
}

// bazaar is a co-op of three as a handful of maps.
type bazaar struct {
	*garden
	members []register.Member
	kind    register.Variety
	stock   map[int64]int // by batch
	offers  map[int64]struct {
		batch  int64
		number int
	}
	wants map[int64]int // number
	swaps map[int64]dealt
	meets map[int64]time.Time    // by swap
	says  map[int64]map[int]bool // by proposal
}

func openBazaar(t *rapid.T, g *garden, n int) *bazaar {
	b := &bazaar{garden: g, stock: map[int64]int{}, wants: map[int64]int{}, swaps: map[int64]dealt{}, meets: map[int64]time.Time{}, says: map[int64]map[int]bool{}}
	b.offers = map[int64]struct {
		batch  int64
		number int
	}{}
	for i := range 3 {
		seat, err := g.Enter(g.t.Context(), register.Entry{CoopKey: fmt.Sprint("bazaar", n), CoopName: "Bazaar", Key: fmt.Sprint(i), Name: fmt.Sprint("Member ", i), At: noon(g.t, "2026-02-01")})
		require.NoError(t, err)
		_, err = g.SetMember(g.t.Context(), register.Actor{Member: seat.Member.ID, At: noon(g.t, "2026-02-01")}, register.Metric, 3, place.Place{Zone: "UTC"})
		require.NoError(t, err)
		b.members = append(b.members, seat.Member)
	}
	var err error
	b.kind, err = g.AddVariety(g.t.Context(), b.by(b.members[0], "2026-02-01"), variety.Variety{Name: "Stall", Protection: variety.Free})
	require.NoError(t, err)
	return b
}

func (b *bazaar) who(i int) register.Actor { return b.by(b.members[i], "2026-02-01") }

func some[V any](t *rapid.T, of map[int64]V, name string) (int64, bool) {
	if len(of) == 0 {
		return 0, false
	}
	return rapid.SampledFrom(slices.Sorted(maps.Keys(of))).Draw(t, name), true
}

// pick gives a swap, mostly one that is ready for the word.
func (b *bazaar) pick(t *rapid.T, ready register.SwapState) (int64, bool) {
	of := maps.Clone(b.swaps)
	if rapid.IntRange(0, 4).Draw(t, "any") > 0 {
		maps.DeleteFunc(of, func(_ int64, d dealt) bool { return d.state != ready })
	}
	return some(t, of, "swap")
}

// held sums what swaps hold of a batch that has not left it yet.
func (b *bazaar) held(batch int64) (held, given int) {
	for _, d := range b.swaps {
		if d.batch == batch && d.state != register.Arrived {
			held += d.takes()
		}
		if d.batch == batch && d.state == register.HandedOver {
			given += d.given
		}
	}
	return held, given
}

func (b *bazaar) ownerOf(t *rapid.T, batch int64) int {
	got, err := b.Batch(b.t.Context(), batch)
	require.NoError(t, err)
	return slices.IndexFunc(b.members, func(m register.Member) bool { return m.ID == got.Member })
}

func (b *bazaar) turn(proposal int64, state register.SwapState) {
	for id, d := range b.swaps {
		if d.proposal == proposal {
			d.state = state
			b.swaps[id] = d
		}
	}
}

// shrink ends what a batch can no longer keep: the latest that is proposed, then the latest that is agreed; all of them
// where none is left.
func (b *bazaar) shrink(t *rapid.T, batch int64) {
	for _, state := range []register.SwapState{register.Proposed, register.Agreed} {
		for _, id := range slices.Backward(slices.Sorted(maps.Keys(b.swaps))) {
			d := b.swaps[id]
			held, _ := b.held(batch)
			if d.batch != batch || d.state != state || held <= b.stock[batch] && b.stock[batch] > 0 {
				continue
			}
			to := register.SwapBroken
			if state == register.Agreed {
				to = register.SwapCanceled
			}
			d.state = to
			b.swaps[id] = d
		}
	}
}

// agrees holds the register against the maps, and against what must never be.
func (b *bazaar) agrees(t *rapid.T) {
	ctx := b.t.Context()
	for id, n := range b.stock {
		got, err := b.Batch(ctx, id)
		require.NoError(t, err)
		require.Equal(t, n, got.Count, "batch %d", id)
		held, _ := b.held(id)
		require.LessOrEqual(t, held, n, "more is promised of batch %d than there is", id)
	}
	for id, d := range b.swaps {
		got, err := b.Swap(ctx, id)
		require.NoError(t, err)
		require.Equal(t, d.state, got.State, "swap %d", id)
		require.Equal(t, d.received, got.Received)
		require.Equal(t, d.state == register.Agreed && !b.meets[id].IsZero(), got.Meets(), "swap %d", id)
		require.True(t, !got.Meets() || got.Meeting.At.Equal(b.meets[id]))
	}
	for id, o := range b.offers {
		taken := 0
		for _, d := range b.swaps {
			if d.offer == id {
				taken += d.takes()
			}
		}
		got, err := b.Offer(ctx, id)
		require.NoError(t, err)
		held, _ := b.held(o.batch)
		if got.Ended.IsZero() {
			require.Equal(t, max(0, min(o.number-taken, b.stock[o.batch]-held)), got.Free, "offer %d", id)
		}
	}
	for id, n := range b.wants {
		taken := 0
		for _, d := range b.swaps {
			if d.want == id {
				taken += d.takes()
			}
		}
		got, err := b.Want(ctx, id)
		require.NoError(t, err)
		require.Equal(t, max(0, n-taken), got.Free, "want %d", id)
	}
	gave, got := 0, 0
	for _, m := range b.members {
		l, err := b.Ledger(ctx, m)
		require.NoError(t, err)
		gave, got = gave+l.Given, got+l.Received
	}
	require.Equal(t, gave, got, "what is given is received")
}
