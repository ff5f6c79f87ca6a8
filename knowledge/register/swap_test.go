package register_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func TestAGift(t *testing.T) {
	t.Parallel()
	l := swapLane(t)
	o, b := l.offers("Piet", "Gilt", 8)
	w := l.wants("Nora", "Gilt", 5)
	made := l.propose()
	require.Len(t, made, 1)
	require.Equal(t, 3, l.free(o), "held back")
	require.Empty(t, l.propose(), "nothing is proposed twice")

	p := l.agree(made[0], "Nora")
	require.Equal(t, register.ProposalOpen, p.State)
	require.Equal(t, []string{"Piet"}, p.Silent())
	_, err := l.Agree(t.Context(), l.who("Nora"), p.ID)
	refused(t, fault.Taken, "waits for Piet", err)
	p = l.agree(p, "Piet")
	require.Equal(t, register.ProposalAgreed, p.State)
	s := p.Swaps[0]
	require.Equal(t, register.Agreed, s.State)

	_, _, err = l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: s.ID})
	refused(t, fault.Later, "Piet has not said yet", err)
	_, err = l.Given(t.Context(), l.who("Nora"), register.Transfer{Swap: s.ID})
	refused(t, fault.Barred, "given by Piet", err)
	s, err = l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: s.ID})
	require.NoError(t, err)
	require.Equal(t, 10, l.batch(b.ID).Count, "nothing moves by one word")
	_, err = l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: s.ID})
	refused(t, fault.Taken, "waits for Nora's word", err)

	s, out, err := l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: s.ID, Number: 4, Spot: "frame"})
	require.NoError(t, err)
	require.Equal(t, 6, l.batch(b.ID).Count)
	got := l.batch(s.Made)
	require.Equal(t, out.Batches[0].ID, got.ID)
	require.Equal(t, 4, got.Count)
	require.Equal(t, b.ID, got.Parent)
	require.Equal(t, l.nora.ID, got.Member)
	require.Equal(t, crop.Potted, got.Stage)
	h, err := l.HoldOf(t.Context(), got.ID, day(t, l.on))
	require.NoError(t, err)
	require.Equal(t, register.HeldApart, h.Why, "new stock stands apart")
	w, err = l.Want(t.Context(), w.ID)
	require.NoError(t, err)
	require.Equal(t, 1, w.Free, "what came short is wanted again")
	require.Equal(t, 4, l.free(o))

	_, _, err = l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: s.ID})
	refused(t, fault.Taken, "/swap correct", err)
	_, err = l.Undo(t.Context(), l.who("Nora"), out.Event.ID, "a slip")
	refused(t, fault.Taken, "A handover is two members'", err)

	s, err = l.Correct(t.Context(), l.who("Nora"), s.ID, 5, "one was under the paper")
	require.NoError(t, err)
	require.Equal(t, []int{5, 5}, []int{l.batch(b.ID).Count, l.batch(s.Made).Count})
	w, err = l.Want(t.Context(), w.ID)
	require.NoError(t, err)
	require.Equal(t, register.EndServed, w.Ending)
	_, err = l.Correct(t.Context(), l.who("Nora"), s.ID, 2, "three went back")
	require.NoError(t, err)
	require.Equal(t, []int{8, 2}, []int{l.batch(b.ID).Count, l.batch(s.Made).Count})
	w, err = l.Want(t.Context(), w.ID)
	require.NoError(t, err)
	require.Equal(t, 3, w.Free, "open again")
	ledger, err := l.Ledger(t.Context(), l.nora)
	require.NoError(t, err)
	require.Equal(t, register.Ledger{Member: l.nora.ID, Received: 2, Swaps: 1, CoopGiven: 2}, ledger)
	l.sound()
}

func TestARefusedHandoverIsNotProposedAgain(t *testing.T) {
	t.Parallel()
	l := swapLane(t, "Mara")
	o, _ := l.offers("Piet", "Gilt", 5)
	l.wants("Nora", "Gilt", 5)
	p := l.propose()[0]
	_, err := l.Refuse(t.Context(), l.who("Mara"), p.ID, 0, "")
	refused(t, fault.Barred, "does not touch Mara", err)
	p, err = l.Refuse(t.Context(), l.who("Nora"), p.ID, 0, "too tall for us")
	require.NoError(t, err)
	require.Equal(t, register.ProposalRefused, p.State)
	require.Equal(t, 5, l.free(o))
	require.Contains(t, l.told("Piet"), register.TellRefused)
	_, err = l.Agree(t.Context(), l.who("Piet"), p.ID)
	refused(t, fault.Taken, "Nora refused: too tall for us", err)
	require.Empty(t, l.propose())
	l.wants("Mara", "Gilt", 5)
	require.Len(t, l.propose(), 1, "it goes to another")
}

func TestASilenceIsAskedAgainLater(t *testing.T) {
	t.Parallel()
	l := swapLane(t)
	o, _ := l.offers("Piet", "Gilt", 5)
	l.wants("Nora", "Gilt", 5)
	p := l.agree(l.propose()[0], "Piet")
	require.NoError(t, l.Tend(t.Context(), l.nora.Coop, noon(t, "2026-02-06")))
	require.NoError(t, l.Tend(t.Context(), l.nora.Coop, noon(t, "2026-02-07")))
	require.Equal(t, []register.TidingKind{register.TellProposed, register.TellReminder}, l.told("Nora"), "reminded once")
	require.Equal(t, []register.TidingKind{register.TellProposed}, l.told("Piet"), "who has agreed is not")
	l.on = "2026-02-09"
	_, err := l.Agree(t.Context(), l.who("Nora"), p.ID)
	refused(t, fault.Taken, "could be agreed until Sun 8 Feb 2026 only", err)
	require.NoError(t, l.Tend(t.Context(), l.nora.Coop, noon(t, l.on)))
	require.Equal(t, 5, l.free(o))
	require.Empty(t, l.propose(), "not at once")
	l.on = "2026-02-23"
	require.Len(t, l.propose(), 1)
}

func TestARingIsAgreedByAll(t *testing.T) {
	t.Parallel()
	l := swapLane(t, "Mara")
	_, err := l.Setup(t.Context(), l.who("Nora"), register.Coop{ID: l.nora.Coop, Name: "Hill", Units: register.Metric, StopWord: register.SayStop, Sharing: register.InBalance})
	require.NoError(t, err)
	names := []string{"Nora", "Piet", "Mara"}
	for i, name := range names {
		l.offers(name, name+"'s", 4)
		l.wants(names[(i+1)%3], name+"'s", 3)
	}
	made := l.propose()
	require.Len(t, made, 1)
	require.Len(t, made[0].Swaps, 3)
	p := l.agree(made[0], names...)
	require.Equal(t, register.ProposalAgreed, p.State)
	first := p.Swaps[0]
	_, err = l.Given(t.Context(), l.by(l.member(first.Giver), l.on), register.Transfer{Swap: first.ID})
	require.NoError(t, err)
	_, also, err := l.Cancel(t.Context(), l.by(l.member(p.Swaps[1].Giver), l.on), p.Swaps[1].ID, "frost")
	require.NoError(t, err)
	require.Len(t, also, 1, "the third rested on it, the first was given")
	p, err = l.Proposal(t.Context(), p.ID)
	require.NoError(t, err)
	require.Equal(t, []register.SwapState{register.HandedOver, register.SwapCanceled, register.SwapCanceled},
		[]register.SwapState{p.Swaps[0].State, p.Swaps[1].State, p.Swaps[2].State})
	_, _, err = l.Received(t.Context(), l.by(l.member(first.Receiver), l.on), register.Transfer{Swap: first.ID})
	require.NoError(t, err)
}

func TestWhatHappensMeanwhile(t *testing.T) {
	t.Parallel()
	agreed := func(t *testing.T) (*lane, register.Offer, register.Batch, register.Proposal) {
		l := swapLane(t)
		o, b := l.offers("Piet", "Gilt", 5)
		l.wants("Nora", "Gilt", 4)
		return l, o, b, l.propose()[0]
	}
	t.Run("the offer is withdrawn", func(t *testing.T) {
		t.Parallel()
		l, o, _, p := agreed(t)
		_, w, err := l.WithdrawOffer(t.Context(), l.who("Piet"), o.ID)
		require.NoError(t, err)
		require.Equal(t, []int64{p.ID}, w.Broken)
		_, err = l.Agree(t.Context(), l.who("Nora"), p.ID)
		refused(t, fault.Taken, "Piet withdrew the offer", err)
		require.Contains(t, l.told("Nora"), register.TellBroken)
	})
	t.Run("the offer is withdrawn once it is agreed", func(t *testing.T) {
		t.Parallel()
		l, o, b, p := agreed(t)
		p = l.agree(p, "Nora", "Piet")
		_, w, err := l.WithdrawOffer(t.Context(), l.who("Piet"), o.ID)
		require.NoError(t, err)
		require.Len(t, w.Promise, 1, "a promise stands")
		_, err = l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		_, _, err = l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		require.Equal(t, 3, l.batch(b.ID).Count)
	})
	t.Run("the batch dies while it is proposed", func(t *testing.T) {
		t.Parallel()
		l, o, b, p := agreed(t)
		_, err := l.Count(t.Context(), l.who("Piet"), register.Tally{Batch: b.ID, Died: true})
		require.NoError(t, err)
		o, err = l.Offer(t.Context(), o.ID)
		require.NoError(t, err)
		require.Equal(t, register.EndGone, o.Ending)
		_, err = l.Agree(t.Context(), l.who("Nora"), p.ID)
		refused(t, fault.Taken, "can no longer give them", err)
	})
	t.Run("the batch dies once it is agreed", func(t *testing.T) {
		t.Parallel()
		l, _, b, p := agreed(t)
		p = l.agree(p, "Nora", "Piet")
		_, err := l.Count(t.Context(), l.who("Piet"), register.Tally{Batch: b.ID, Number: 3, Died: true})
		require.NoError(t, err)
		s, err := l.Swap(t.Context(), p.Swaps[0].ID)
		require.NoError(t, err)
		require.Equal(t, register.SwapCanceled, s.State)
		require.Contains(t, l.told("Nora"), register.TellCancelled)
		_, err = l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: s.ID})
		refused(t, fault.Taken, "came to nothing", err)
	})
	t.Run("the batch is counted while they are on their way", func(t *testing.T) {
		t.Parallel()
		l, _, b, p := agreed(t)
		p = l.agree(p, "Nora", "Piet")
		_, err := l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		_, err = l.Count(t.Context(), l.who("Piet"), register.Tally{Batch: b.ID, Number: 3})
		refused(t, fault.Taken, "on their way to Nora", err)
		_, err = l.Count(t.Context(), l.who("Piet"), register.Tally{Batch: b.ID, Number: 4})
		require.NoError(t, err)
		_, _, err = l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: p.Swaps[0].ID, Number: 5})
		refused(t, fault.Unclear, "has 4", err)
		_, _, err = l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		require.False(t, l.batch(b.ID).Live())
	})
	t.Run("the batch goes on to another stage", func(t *testing.T) {
		t.Parallel()
		l, o, b, _ := agreed(t)
		_, err := l.Done(t.Context(), l.who("Piet"), register.Step{Kind: crop.PlantOut, Batches: []int64{b.ID}})
		require.NoError(t, err)
		o, err = l.Offer(t.Context(), o.ID)
		require.NoError(t, err)
		require.Equal(t, register.EndGone, o.Ending, "planted out they are no rooted cuttings")
	})
	t.Run("what was recorded before is not undone under it", func(t *testing.T) {
		t.Parallel()
		l, _, b, p := agreed(t)
		p = l.agree(p, "Nora", "Piet")
		_, err := l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		log, err := l.BatchLog(t.Context(), b.ID)
		require.NoError(t, err)
		_, err = l.Undo(t.Context(), l.who("Piet"), log[0].ID, "a slip")
		refused(t, fault.Taken, "on their way to Nora", err)
		_, _, err = l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		_, err = l.Undo(t.Context(), l.who("Piet"), log[0].ID, "a slip")
		refused(t, fault.Taken, "rests on it", err)
	})
	for _, leaver := range []string{"Piet", "Nora"} {
		t.Run(leaver+" leaves", func(t *testing.T) {
			t.Parallel()
			l, o, b, p := agreed(t)
			other := map[string]string{"Piet": "Nora", "Nora": "Piet"}[leaver]
			p = l.agree(p, "Nora", "Piet")
			s := p.Swaps[0]
			_, err := l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: s.ID})
			require.NoError(t, err)
			require.NoError(t, l.Leave(t.Context(), l.who(leaver)))
			require.Contains(t, l.told(other), register.TellCancelled)
			s, err = l.Swap(t.Context(), s.ID)
			require.NoError(t, err)
			require.Equal(t, register.SwapCanceled, s.State)
			require.Equal(t, "a member left", s.Why)
			_, _, err = l.Received(t.Context(), l.who(other), register.Transfer{Swap: s.ID})
			refused(t, fault.Taken, "came to nothing", err)
			if leaver == "Nora" {
				require.Equal(t, 7, l.batch(b.ID).Count)
				require.Equal(t, 5, l.free(o))
			}
		})
	}
	t.Run("the giver leaves afterwards", func(t *testing.T) {
		t.Parallel()
		l, _, b, p := agreed(t)
		p = l.agree(p, "Nora", "Piet")
		_, err := l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		s, _, err := l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		require.NoError(t, l.Leave(t.Context(), l.who("Piet")))
		require.Equal(t, b.ID, l.batch(s.Made).Parent, "the lineage stays")
		s, err = l.Correct(t.Context(), l.who("Nora"), s.ID, 3, "one was another variety")
		require.NoError(t, err)
		require.Empty(t, s.GiverName)
		require.Equal(t, 3, l.batch(s.Made).Count)
		ledger, err := l.Ledger(t.Context(), l.nora)
		require.NoError(t, err)
		require.Equal(t, 3, ledger.Received)
	})
	t.Run("two press at once", func(t *testing.T) {
		t.Parallel()
		l, _, b, p := agreed(t)
		var wait sync.WaitGroup
		for _, name := range []string{"Nora", "Piet"} {
			wait.Go(func() { _, _ = l.Agree(t.Context(), l.who(name), p.ID) })
		}
		wait.Wait()
		p, err := l.Proposal(t.Context(), p.ID)
		require.NoError(t, err)
		require.Equal(t, register.ProposalAgreed, p.State)
		_, err = l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: p.Swaps[0].ID})
		require.NoError(t, err)
		errs := make([]error, 4)
		for i := range errs {
			wait.Go(func() {
				_, _, errs[i] = l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: p.Swaps[0].ID})
			})
		}
		wait.Wait()
		done := 0
		for _, err := range errs {
			if err == nil {
				done++
				continue
			}
			refused(t, fault.Taken, "was handed over", err)
		}
		require.Equal(t, 1, done)
		require.Equal(t, 3, l.batch(b.ID).Count, "no cutting is given twice")
	})
}

func TestEndsWithAWordBefore(t *testing.T) {
	t.Parallel()
	l := swapLane(t)
	o, _ := l.offers("Piet", "Gilt", 5)
	w := l.wants("Nora", "Other", 5)
	tend := func(on string) { require.NoError(t, l.Tend(t.Context(), l.nora.Coop, noon(t, on))) }
	tend(w.Last.Add(-8).String())
	require.Empty(t, l.told("Nora"))
	tend(w.Last.Add(-7).String())
	tend(w.Last.Add(-6).String())
	require.Equal(t, []register.TidingKind{register.TellWantEnds}, l.told("Nora"))
	tend(w.Last.Add(1).String())
	w, err := l.Want(t.Context(), w.ID)
	require.NoError(t, err)
	require.Equal(t, register.EndOver, w.Ending)
	o, err = l.Offer(t.Context(), o.ID)
	require.NoError(t, err)
	require.Equal(t, register.EndOver, o.Ending)
}
