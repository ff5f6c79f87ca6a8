package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

func TestOffersOfShootsLeaveTheStools(t *testing.T) {
	t.Parallel()
	l := swapLane(t)
	b := l.has("Piet", "Gilt", crop.Woken, 2)
	_, err := l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: 21, Stock: exchange.Unrooted})
	refused(t, fault.Unclear, "give about 20 cuttings", err)
	o, err := l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: 15, Stock: exchange.Unrooted})
	require.NoError(t, err)
	more, err := l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: 12, Stock: exchange.Unrooted})
	require.NoError(t, err)
	w, err := l.MakeWant(t.Context(), l.who("Nora"), register.Wish{Like: l.kind("Gilt").ID, Number: 30, Stock: exchange.Unrooted, Last: day(t, l.on).Add(60)})
	require.NoError(t, err)
	made := l.propose()
	units := 0
	for _, p := range made {
		p = l.agree(p, "Piet", "Nora")
		_, err := l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		s, _, err := l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		units += s.Received
		require.Equal(t, crop.Taken, l.batch(s.Made).Stage)
	}
	require.Equal(t, 20, units, "the shoots of two stools, through two offers")
	require.Equal(t, 2, l.batch(b.ID).Count)
	require.Equal(t, []int{0, 0}, []int{l.free(o), l.free(more)})
	w, err = l.Want(t.Context(), w.ID)
	require.NoError(t, err)
	require.Equal(t, 10, w.Free)
}

func TestPlantsAreOfferedOnce(t *testing.T) {
	t.Parallel()
	l := swapLane(t)
	b := l.has("Piet", "Gilt", crop.Boxed, 20)
	offer := func(n int) (register.Offer, error) {
		return l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: n, From: day(t, l.on), Until: day(t, l.on).Add(60)})
	}
	first, err := offer(17)
	require.NoError(t, err)
	_, err = offer(17)
	refused(t, fault.Taken, "has 20, of which 17 are offered or promised already. Offer 3 or fewer", err)
	second, err := offer(3)
	require.NoError(t, err)
	_, err = offer(1)
	refused(t, fault.Taken, "has 20, and all are offered or promised already", err)
	sum, err := l.InAll(t.Context(), []register.Offer{first, second})
	require.NoError(t, err)
	require.Equal(t, 20, sum)

	_, err = l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: 5, Stock: exchange.Unrooted, From: day(t, l.on)})
	require.NoError(t, err, "shoots are not part of the number")
	_, _, err = l.WithdrawOffer(t.Context(), l.who("Piet"), first.ID)
	require.NoError(t, err)
	_, err = offer(17)
	require.NoError(t, err)
}

func TestShootsOfferedTwiceCountOnce(t *testing.T) {
	t.Parallel()
	l := swapLane(t)
	b := l.has("Piet", "Gilt", crop.Woken, 2)
	var offers []register.Offer
	for _, n := range []int{15, 12} {
		o, err := l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: n, Stock: exchange.Unrooted})
		require.NoError(t, err)
		offers = append(offers, o)
	}
	sum, err := l.InAll(t.Context(), offers)
	require.NoError(t, err)
	require.Equal(t, 20, sum, "about ten a stool, not 27")
}

func TestDaysFollowTheBatchAndThePlan(t *testing.T) {
	t.Parallel()
	l := swapLane(t)
	b := l.has("Piet", "Gilt", crop.Struck, 20) // struck 12 Jan, with bottom heat
	o, err := l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: 6})
	require.NoError(t, err)
	require.Equal(t, exchange.Rooted, o.Stock)
	require.Equal(t, "2026-01-25", o.From.String(), "13 days to root")
	require.Equal(t, "2026-02-22", o.Until.String())

	target, err := l.SetTarget(t.Context(), l.who("Nora"), l.kind("Gilt").ID, crop.Target{From: day(t, "2026-11-05")}, 40)
	require.NoError(t, err)
	w, err := l.MakeWant(t.Context(), l.who("Nora"), register.Wish{Variety: l.kind("Gilt").ID, Number: 4, Stock: exchange.Rooted})
	require.NoError(t, err)
	pot, err := l.Job(t.Context(), target.Plan.ID, crop.Pot)
	require.NoError(t, err)
	require.Equal(t, pot.Window.Latest, w.Last)
	require.Equal(t, target.Plan.ID, w.Plan)
	_, err = l.MakeWant(t.Context(), l.who("Nora"), register.Wish{Season: variety.Late, Number: 4, Stock: exchange.Rooted})
	refused(t, fault.Unclear, "Until when would they serve?", err)

	l.on = "2026-03-20"
	_, err = l.Done(t.Context(), l.who("Nora"), register.Step{Plan: target.Plan.ID, Kind: crop.Strike, Count: 5})
	require.NoError(t, err)
	pot, err = l.Job(t.Context(), target.Plan.ID, crop.Pot)
	require.NoError(t, err)
	w, err = l.Want(t.Context(), w.ID)
	require.NoError(t, err)
	require.Equal(t, pot.Window.Latest, w.Last, "it moves with the plan")

	cut := l.has("Piet", "Gilt", crop.Taken, 10)
	_, err = l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: cut.ID, Number: 6})
	refused(t, fault.Unclear, "cut material keeps days, not weeks", err)
}

func TestProtectedVarietiesAreNotOfferedAsCuttings(t *testing.T) {
	t.Parallel()
	l := swapLane(t)
	v, err := l.AddVariety(t.Context(), l.who("Nora"), variety.Variety{Name: "Owned", Protection: variety.Protected})
	require.NoError(t, err)
	l.kinds["Owned"] = v
	b := l.has("Piet", "Owned", crop.Struck, 5)
	_, err = l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: 2})
	refused(t, fault.Barred, "needs the holder's licence", err)
	v.Protection, v.Licence = variety.Licensed, "Holder 12"
	_, err = l.ChangeVariety(t.Context(), l.who("Nora"), v.ID, v.Variety)
	require.NoError(t, err)
	_, err = l.MakeOffer(t.Context(), l.who("Piet"), register.Offering{Batch: b.ID, Number: 2})
	require.NoError(t, err)
}
