package register

import (
	"context"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
)

// Transfer is what a member says of a handover.
type Transfer struct {
	Swap   int64
	Number int          // 0: as agreed, or as given
	On     calendar.Day // zero: today
	Spot   string       // where the receiver puts the plants
	Note   string
}

const (
	setGiven    = `UPDATE swap SET state = 'given', given = $2, given_on = $3 WHERE id = $1`
	setReceived = `UPDATE swap SET state = 'received', received = $2, received_on = $3 WHERE id = $1`
	setMade     = `UPDATE swap SET made = $2 WHERE id = $1`
	setRight    = `UPDATE swap SET received = $2, why = $3 WHERE id = $1`
)

// Given records the giver's word that the plants were handed over. Nothing moves yet: what is given stays in the batch's
// number until the receiver's word.
func (r *Register) Given(ctx context.Context, actor Actor, w Transfer) (s Swap, err error) {
	return s, r.act(ctx, actor, func(a *act) error {
		if err := a.tend(ctx); err != nil {
			return err
		}
		if s, err = a.mySwap(ctx, w.Swap); err != nil {
			return err
		}
		if err := a.toGive(ctx, s, &w); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, setGiven, s.ID, w.Number, day(w.On)); err != nil {
			return fmt.Errorf("giving: %w", err)
		}
		if err := a.recount(ctx, s); err != nil {
			return err
		}
		if err := a.tell(ctx, s.Receiver, TellGiven, s.ID); err != nil {
			return err
		}
		s, err = swapByID(ctx, a.Tx, s.ID)
		return err
	})
}

// toGive looks that a swap can be handed over, and settles number and day.
func (a *act) toGive(ctx context.Context, s Swap, w *Transfer) error {
	if err := s.settled(); err != nil {
		return err
	}
	if w.On.IsZero() {
		w.On = a.today
	}
	if w.Number == 0 {
		w.Number = s.Number
	}
	b, err := batchByID(ctx, a.Tx, s.Batch)
	if err != nil {
		return err
	}
	switch {
	case s.Giver != a.own.ID:
		return fault.New(fault.Barred, "Swap %d is given by %s, who says so with /swap given. You say /swap received once the plants are there.", s.ID, s.GiverName)
	case s.State == HandedOver:
		return fault.New(fault.Taken, "Swap %d was given on %s: %d. It waits for %s's word.", s.ID, s.GivenOn.Long(), s.Given, s.ToName)
	case w.Number > s.Number:
		return fault.New(fault.Unclear, "Swap %d is for %d, not %d. Give up to %d; what comes on top %s can put right with /swap received.", s.ID, s.Number, w.Number, s.Number, s.ToName)
	}
	if err := a.handed(*w, b.Made); err != nil {
		return err
	}
	return a.passable(ctx, b)
}

// handed refuses a day on which nothing can have been handed over.
func (a *act) handed(w Transfer, notBefore calendar.Day) error {
	switch {
	case w.Number < 0:
		return fault.New(fault.Unclear, "A number cannot be below zero. Give how many there were.")
	case w.On > a.today:
		return fault.New(fault.Unclear, "%s is still to come. Say it once the plants have changed hands.", w.On.Long())
	case w.On < notBefore:
		return fault.New(fault.Unclear, "That was not possible before %s. Give that day or a later one.", notBefore.Long())
	}
	return nil
}

// Received records the receiver's word with the number really received. With it the numbers move: the giver's batch has
// so many fewer, and the receiver has a new batch that remembers it and stands apart.
func (r *Register) Received(ctx context.Context, actor Actor, w Transfer) (s Swap, out Outcome, err error) {
	return s, out, r.act(ctx, actor, func(a *act) error {
		if err := a.tend(ctx); err != nil {
			return err
		}
		if s, err = a.mySwap(ctx, w.Swap); err != nil {
			return err
		}
		from, err := a.toReceive(ctx, s, &w)
		if err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, setReceived, s.ID, w.Number, day(w.On)); err != nil {
			return fmt.Errorf("receiving: %w", err)
		}
		giver, err := a.as(ctx, s.Giver)
		if err != nil {
			return err
		}
		if err := giver.leaves(ctx, from, s, Gave, w.On, w.Number, ""); err != nil {
			return err
		}
		if out, err = a.arrives(ctx, s, from, w); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, setMade, s.ID, out.Batches[0].ID); err != nil {
			return err
		}
		if err := a.recount(ctx, s); err != nil {
			return err
		}
		if err := a.tell(ctx, s.Giver, TellReceived, s.ID); err != nil {
			return err
		}
		s, err = swapByID(ctx, a.Tx, s.ID)
		return err
	})
}

// toReceive looks that a swap can be received, settles number and day, and gives the giver's batch.
func (a *act) toReceive(ctx context.Context, s Swap, w *Transfer) (from Batch, err error) {
	if err := s.settled(); err != nil {
		return from, err
	}
	if w.On.IsZero() {
		w.On = a.today
	}
	if w.Number == 0 {
		w.Number = s.Given
	}
	if from, err = batchByID(ctx, a.Tx, s.Batch); err != nil {
		return from, err
	}
	switch {
	case s.Receiver != a.own.ID:
		return from, fault.New(fault.Barred, "Swap %d is received by %s, who says so with /swap received. You say /swap given when you hand it over.", s.ID, s.ToName)
	case s.State == Agreed:
		return from, fault.New(fault.Later, "%s has not said yet that swap %d was handed over, with /swap given. Say received after that.", s.GiverName, s.ID)
	case w.Number > from.Count && !s.Shoots:
		return from, fault.New(fault.Unclear, "%s's batch %s has %d, so %d cannot have come from it. If it had more, %s counts it first with /stock count.", s.GiverName, from.Mark, from.Count, w.Number, s.GiverName)
	}
	return from, a.handed(*w, s.GivenOn)
}

// as gives the deed as another member's, by the same hand.
func (a *act) as(ctx context.Context, member int64) (*act, error) {
	own, err := memberByID(ctx, a.Tx, member)
	return &act{Tx: a.Tx, by: a.by, own: own, at: a.at, today: a.today}, err
}

// note names the swap in an event, and nobody: events outlast members.
func (s Swap) note(words string) string {
	if words == "" {
		return fmt.Sprintf("swap %d", s.ID)
	}
	return fmt.Sprintf("swap %d: %s", s.ID, words)
}

// leaves takes what was given out of the giver's batch. Shoots leave the number alone.
func (a *act) leaves(ctx context.Context, b Batch, s Swap, deed Deed, on calendar.Day, n int, why string) error {
	var out Outcome
	var err error
	if out.Event, err = a.record(ctx, Event{Variety: s.Variety, Deed: deed, On: on, Count: n, Note: s.note(why)}, ""); err != nil {
		return err
	}
	if s.Shoots {
		err = a.touch(ctx, out.Event.ID, b, Source, 0, false)
	} else {
		err = a.change(ctx, &out, b, b, Given, -n, on)
	}
	if err != nil {
		return err
	}
	return a.settle(ctx, s.Variety, b.Plan, &out)
}

// arrives makes the receiver's batch, which stands apart as all new stock does.
func (a *act) arrives(ctx context.Context, s Swap, from Batch, w Transfer) (out Outcome, err error) {
	plan, err := a.planOfWant(ctx, s)
	if err != nil {
		return out, err
	}
	if out.Event, err = a.record(ctx, Event{Variety: s.Variety, Plan: plan, Deed: Got, On: w.On, Count: w.Number, Note: s.note(w.Note)}, ""); err != nil {
		return out, err
	}
	b := Batch{Variety: s.Variety, Stage: from.Stage, Since: from.Since, Count: w.Number, Spot: w.Spot, Parent: from.ID, Plan: plan, Made: w.On}
	if s.Shoots {
		b.Stage, b.Since = crop.Taken, w.On
	}
	if s.Stock == exchange.Plants && b.Stage == crop.Housed { // where they came to bloom is not where they are now
		b.Stage = crop.Planted
	}
	if b, err = a.newBatch(ctx, b); err != nil {
		return out, err
	}
	if err := a.touch(ctx, out.Event.ID, b, Received, w.Number, true); err != nil {
		return out, err
	}
	if _, err := a.standApart(ctx, b.ID, w.On); err != nil {
		return out, err
	}
	if err := a.show(ctx, &out, b.ID); err != nil {
		return out, err
	}
	return out, a.settle(ctx, s.Variety, plan, &out)
}

// planOfWant gives the running target that the want of a swap serves with this variety.
func (a *act) planOfWant(ctx context.Context, s Swap) (int64, error) {
	if s.Want == 0 {
		return 0, nil
	}
	w, err := wantByID(ctx, a.Tx, s.Want)
	if err != nil || w.Plan == 0 {
		return 0, err
	}
	p, err := planByID(ctx, a.Tx, w.Plan)
	if err != nil || p.Ending != Running || p.Variety != s.Variety {
		return 0, err
	}
	return p.ID, nil
}

// Correct puts the number of a received swap right, with a reason; both batches follow. Nothing is erased.
func (r *Register) Correct(ctx context.Context, actor Actor, swap int64, number int, why string) (s Swap, err error) {
	return s, r.act(ctx, actor, func(a *act) error {
		if s, err = a.mySwap(ctx, swap); err != nil {
			return err
		}
		more := number - s.Received
		switch {
		case s.State != Arrived && s.settled() == nil:
			return fault.New(fault.Later, "Swap %d has not been received yet; /swap received takes the number that really came, and /swap cancel ends it.", s.ID)
		case s.State != Arrived:
			return s.settled()
		case number < 0:
			return fault.New(fault.Unclear, "A number cannot be below zero. Give how many were received.")
		case more == 0:
			return fault.New(fault.Taken, "Swap %d has %d received already. Nothing was changed.", s.ID, number)
		}
		if err := exec(ctx, a.Tx, setRight, s.ID, number, why); err != nil {
			return fmt.Errorf("correcting a swap: %w", err)
		}
		if err := a.moreFrom(ctx, s, more, why); err != nil {
			return err
		}
		if err := a.moreTo(ctx, s, more, why); err != nil {
			return err
		}
		if err := a.recount(ctx, s); err != nil {
			return err
		}
		for _, m := range []int64{s.Giver, s.Receiver} {
			if m != 0 && m != a.own.ID {
				if err := a.tell(ctx, m, TellCorrected, s.ID); err != nil {
					return err
				}
			}
		}
		s, err = swapByID(ctx, a.Tx, s.ID)
		return err
	})
}

// moreFrom takes more from the giver's batch, or fewer; of a giver who has left there is nothing to change.
func (a *act) moreFrom(ctx context.Context, s Swap, more int, why string) error {
	if s.Giver == 0 || s.Batch == 0 {
		return nil
	}
	b, err := batchByID(ctx, a.Tx, s.Batch)
	if err != nil {
		return err
	}
	if more > b.Count && !s.Shoots {
		return fault.New(fault.Unclear, "%s's batch %s has %d, so %d more cannot have come from it. Its number is put right first, with /stock count.", s.GiverName, b.Mark, b.Count, more)
	}
	giver, err := a.as(ctx, s.Giver)
	if err != nil {
		return err
	}
	return giver.leaves(ctx, b, s, PutRight, a.today, more, why)
}

// moreTo gives the receiver's batch more, or takes back what never came.
func (a *act) moreTo(ctx context.Context, s Swap, more int, why string) error {
	if s.Receiver == 0 || s.Made == 0 {
		return nil
	}
	b, err := batchByID(ctx, a.Tx, s.Made)
	if err != nil {
		return err
	}
	if b.Count+more < 0 {
		return fault.New(fault.Unclear, "Batch %s has %d left, so %d fewer cannot have come. If some died or went on, what came stays what it was.", b.Mark, b.Count, -more)
	}
	receiver, err := a.as(ctx, s.Receiver)
	if err != nil {
		return err
	}
	var out Outcome
	if out.Event, err = receiver.record(ctx, Event{Variety: s.Variety, Deed: PutRight, On: a.today, Count: more, Note: s.note(why)}, ""); err != nil {
		return err
	}
	if err := receiver.change(ctx, &out, b, b, Received, more, a.today); err != nil {
		return err
	}
	return receiver.settle(ctx, s.Variety, b.Plan, &out)
}

// Cancel ends a swap that has not been received yet, with a reason; what else of its ring or chain was not given yet ends
// with it, as it rests on it. The handover is not proposed again.
func (r *Register) Cancel(ctx context.Context, actor Actor, swap int64, why string) (s Swap, also []Swap, err error) {
	return s, also, r.act(ctx, actor, func(a *act) error {
		if s, err = a.mySwap(ctx, swap); err != nil {
			return err
		}
		if err := s.settled(); err != nil {
			return err
		}
		if err := a.decline(ctx, []Swap{s}, 0); err != nil {
			return err
		}
		if also, err = a.restOf(ctx, s); err != nil {
			return err
		}
		reason := a.own.Name + " cancelled it"
		if why != "" {
			reason += ": " + why
		}
		if err := a.cancelWith(ctx, s, reason); err != nil {
			return err
		}
		s, err = swapByID(ctx, a.Tx, s.ID)
		return err
	})
}

const restOfProposal = selectSwaps + `WHERE s.proposal = $1 AND s.id <> $2 AND s.state = 'agreed' ORDER BY s.id`

// restOf gives what else of a swap's proposal has not been given yet.
func (a *act) restOf(ctx context.Context, s Swap) ([]Swap, error) {
	return list(ctx, a.Tx, scanSwap, restOfProposal, s.Proposal, s.ID)
}

// cancelWith ends a swap and the rest of its proposal that has not been given yet, and tells all of them.
func (a *act) cancelWith(ctx context.Context, s Swap, why string) error {
	rest, err := a.restOf(ctx, s)
	if err != nil {
		return err
	}
	for i, one := range append([]Swap{s}, rest...) {
		reason := why
		if i > 0 {
			reason = fmt.Sprintf("it rested on swap %d, which ended: %s", s.ID, why)
		}
		if err := a.place(ctx, one, SwapCanceled, reason); err != nil {
			return err
		}
		for _, m := range []int64{one.Giver, one.Receiver} {
			if m != 0 {
				if err := a.tell(ctx, m, TellCancelled, one.ID); err != nil {
					return err
				}
			}
		}
	}
	return nil
}
