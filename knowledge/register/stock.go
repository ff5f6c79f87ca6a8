package register

import (
	"context"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

// Stock is plants that a member has and enters.
type Stock struct {
	Variety int64
	Stage   crop.Stage
	Since   calendar.Day // at the stage; zero: today
	Count   int
	Spot    string
	Parent  int64 // the batch they came from, if it is in the register
	Plan    int64 // the target they are meant for, if any
	New     bool  // they came in from elsewhere, and stand apart for a time
	Note    string
}

// Add enters plants as a new batch, whose mark is of the year of Since.
func (r *Register) Add(ctx context.Context, actor Actor, s Stock) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		if s.Since.IsZero() {
			s.Since = a.today
		}
		switch {
		case s.Count <= 0:
			return fault.New(fault.Unclear, "How many plants are there? Give a count of 1 or more.")
		case s.Stage == "":
			return fault.New(fault.Unclear, "What stage are they at? Name one, such as boxed, woken, struck or potted.")
		case s.Since > a.today:
			return fault.New(fault.Unclear, "%s is still to come. Enter plants once they are there.", s.Since.Long())
		}
		if _, err := a.variety(ctx, s.Variety); err != nil {
			return err
		}
		if err := a.fitting(ctx, s); err != nil {
			return err
		}
		e := Event{Variety: s.Variety, Plan: s.Plan, Deed: Added, On: s.Since, Count: s.Count, Note: s.Note}
		if out.Event, err = a.record(ctx, e, ""); err != nil {
			return err
		}
		made, err := a.newBatch(ctx, Batch{Variety: s.Variety, Stage: s.Stage, Since: s.Since, Count: s.Count, Spot: s.Spot, Parent: s.Parent, Plan: s.Plan, Made: s.Since})
		if err != nil {
			return err
		}
		if err := a.touch(ctx, out.Event.ID, made, Raised, s.Count, true); err != nil {
			return err
		}
		if err := a.fromParent(ctx, out.Event.ID, s.Parent); err != nil {
			return err
		}
		if s.New {
			if _, err := a.standApart(ctx, made.ID, s.Since); err != nil {
				return err
			}
		}
		if err := a.settle(ctx, s.Variety, s.Plan, &out); err != nil {
			return err
		}
		return a.show(ctx, &out, made.ID)
	})
}

// fromParent keeps that an event's plants came from a batch, so that the batch is not undone under them.
func (a *act) fromParent(ctx context.Context, event, parent int64) error {
	if parent == 0 {
		return nil
	}
	b, err := batchByID(ctx, a.Tx, parent)
	if err != nil {
		return err
	}
	return a.touch(ctx, event, b, Source, 0, false)
}

// fitting refuses a parent or a target that plants of this variety cannot have.
func (a *act) fitting(ctx context.Context, s Stock) error {
	if s.Parent != 0 {
		parent, err := batchByID(ctx, a.Tx, s.Parent)
		if err != nil {
			return err
		}
		if parent.Variety != s.Variety || parent.Coop != a.own.Coop {
			return fault.New(fault.Unclear, "Batch %s is %s, so these plants cannot come from it. Name another, or none.", parent.Mark, parent.Name)
		}
		if parent.Made > s.Since {
			return fault.New(fault.Unclear, "Batch %s exists only since %s, later than these plants. Name another, or none.", parent.Mark, parent.Made.Long())
		}
	}
	if s.Plan == 0 {
		return nil
	}
	p, err := a.running(ctx, s.Plan)
	if err == nil && p.Variety != s.Variety {
		err = fault.New(fault.Unclear, "That target is for %s. Name one for the same variety.", p.Name)
	}
	return err
}

// Tally is what a member counted of a batch.
type Tally struct {
	Batch  int64
	Number int          // how many there are
	On     calendar.Day // zero: today
	Died   bool         // what is missing died; else it was counted wrongly before
	Reason string
}

// Count puts a batch's number right. Missing plants that died count for the rates of raising (see Rates).
func (r *Register) Count(ctx context.Context, actor Actor, t Tally) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		b, err := a.dated(ctx, t.Batch, &t.On)
		if err != nil {
			return err
		}
		if t.Number < 0 {
			return fault.New(fault.Unclear, "A count cannot be below zero. Give how many there are.")
		}
		e := Event{Variety: b.Variety, Plan: b.Plan, Deed: Counted, On: t.On, Count: t.Number, Note: t.Reason}
		kind := Recounted
		if t.Died && t.Number < b.Count {
			kind, e.Lost = Lost, b.Count-t.Number
		}
		before, err := risks(ctx, a.Tx, a.own.Coop, b.Variety)
		if err != nil {
			return err
		}
		if out.Event, err = a.record(ctx, e, b.Stage); err != nil {
			return err
		}
		if err := a.change(ctx, &out, b, b, kind, t.Number-b.Count, t.On); err != nil {
			return err
		}
		if err := a.riskier(ctx, b.Variety, len(before) > 0); err != nil {
			return err
		}
		return a.settle(ctx, b.Variety, b.Plan, &out)
	})
}

// dated gives a live batch of the member's, and settles a day on which it existed; zero is today.
func (a *act) dated(ctx context.Context, id int64, on *calendar.Day) (Batch, error) {
	if on.IsZero() {
		*on = a.today
	}
	b, err := a.batch(ctx, id)
	switch {
	case err != nil:
		return b, err
	case *on > a.today:
		return b, fault.New(fault.Unclear, "%s is still to come. Record it once it is so.", on.Long())
	case *on < b.Made:
		return b, fault.New(fault.Unclear, "Batch %s exists only since %s. Give that day or a later one.", b.Mark, b.Made.Long())
	}
	return b, nil
}

// Shift is plants that stand elsewhere now, or are meant for another target.
type Shift struct {
	Batch int64
	Count int          // 0: all
	Spot  string       // "": where they stood
	Plan  int64        // 0: the target they were meant for
	On    calendar.Day // zero: today
	Note  string
}

// Move moves a batch; part of one becomes a batch of its own.
func (r *Register) Move(ctx context.Context, actor Actor, s Shift) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		b, err := a.dated(ctx, s.Batch, &s.On)
		if err != nil {
			return err
		}
		if s.Count < 0 || s.Count > b.Count {
			return tooMany(b, s.Count)
		}
		if err := a.fitting(ctx, Stock{Variety: b.Variety, Plan: s.Plan}); err != nil {
			return err
		}
		moved := b
		if s.Spot != "" {
			moved.Spot = s.Spot
		}
		if s.Plan != 0 {
			moved.Plan = s.Plan
		}
		e := Event{Variety: b.Variety, Plan: moved.Plan, Deed: Moving, On: s.On, Count: s.Count, Note: s.Note}
		if out.Event, err = a.record(ctx, e, ""); err != nil {
			return err
		}
		if s.Count == 0 || s.Count == b.Count {
			err = a.change(ctx, &out, b, moved, Moved, 0, s.On)
		} else {
			err = a.part(ctx, &out, b, b, moved, s.Count, Parted, s.On)
		}
		if err != nil {
			return err
		}
		return a.settle(ctx, b.Variety, moved.Plan, &out)
	})
}
