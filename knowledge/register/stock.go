package register

import (
	"context"
	"errors"

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
		made, err := a.add(ctx, s, &out)
		if err != nil {
			return err
		}
		if err := a.settle(ctx, s.Variety, s.Plan, &out); err != nil {
			return err
		}
		return a.show(ctx, &out, made.ID)
	})
}

// add enters plants and leaves it to settle to bring the plans of their variety in line.
func (a *act) add(ctx context.Context, s Stock, out *Outcome) (made Batch, err error) {
	if s.Since.IsZero() {
		s.Since = a.today
	}
	switch {
	case s.Count <= 0:
		return made, fault.New(fault.Unclear, "How many plants are there? Give a count of 1 or more.")
	case s.Stage == "":
		return made, fault.New(fault.Unclear, "What stage are they at? Name one, such as boxed, woken, struck or potted.")
	case s.Since > a.today:
		return made, fault.New(fault.Unclear, "%s is still to come. Enter plants once they are there.", s.Since.Long())
	}
	if _, err := a.variety(ctx, s.Variety); err != nil {
		return made, err
	}
	if err := a.fitting(ctx, s); err != nil {
		return made, err
	}
	e := Event{Variety: s.Variety, Plan: s.Plan, Deed: Added, On: s.Since, Count: s.Count, Note: s.Note}
	if out.Event, err = a.record(ctx, e, ""); err != nil {
		return made, err
	}
	made, err = a.newBatch(ctx, Batch{Variety: s.Variety, Stage: s.Stage, Since: s.Since, Count: s.Count, Spot: s.Spot, Parent: s.Parent, Plan: s.Plan, Made: s.Since})
	if err != nil {
		return made, err
	}
	if err := a.touch(ctx, out.Event.ID, made, Raised, s.Count, true); err != nil {
		return made, err
	}
	if err := a.fromParent(ctx, out.Event.ID, s.Parent); err != nil {
		return made, err
	}
	if s.New {
		_, err = a.standApart(ctx, made.ID, s.Since)
	}
	return made, err
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
		before, err := a.risky(ctx, b.Variety)
		if err != nil {
			return err
		}
		if out.Event, err = a.record(ctx, e, b.Stage); err != nil {
			return err
		}
		if err := a.change(ctx, &out, b, b, kind, t.Number-b.Count, t.On); err != nil {
			return err
		}
		if err := a.riskier(ctx, b.Variety, before); err != nil {
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
	Since calendar.Day // the day from which they really are at their stage, where another was recorded; zero: it stands
	On    calendar.Day // zero: today
	Note  string
}

const (
	// A batch is made on the day of the event that made it, or on its first day where that was put right to an earlier one.
	settleMade = `
UPDATE batch SET made = COALESCE((SELECT CASE WHEN batch.since < e.day THEN batch.since ELSE e.day END
                                  FROM touch t JOIN event e ON e.id = t.event WHERE t.batch = batch.id AND t.made = 1), made)
WHERE id = $1`
	firstRaised = selectBatches + `WHERE b.parent = $1 ORDER BY b.made, b.id LIMIT 1`
	// The steps that brought a batch where it is: they have a day of their own, which undo puts right.
	selectBrought = `
SELECT e.id FROM touch t JOIN event e ON e.id = t.event
WHERE t.batch = $1 AND e.undone_at = 0 AND e.deed = 'done' AND t.deed IN ('moved', 'woken', 'split', 'raised') ORDER BY e.id DESC LIMIT 1`
)

// first refuses another first day of a batch where it cannot be: a step that was recorded has its own.
func (a *act) first(ctx context.Context, b Batch, s Shift) error {
	if s.Since > a.today {
		return fault.New(fault.Unclear, "%s is still to come. Give the day from which batch %s is %s.", s.Since.Long(), b.Mark, b.Stage)
	}
	if s.Count != 0 && s.Count != b.Count {
		return fault.New(fault.Unclear, "Another first day is of the whole batch. Leave out count:, or part some off first.")
	}
	brought, err := list(ctx, a.Tx, scanID, selectBrought, b.ID)
	if err != nil {
		return err
	}
	if len(brought) > 0 {
		e, err := eventByID(ctx, a.Tx, brought[0])
		if err != nil {
			return err
		}
		return fault.New(fault.Taken, "Batch %s is %s since %s by a step that was recorded (%s). Take that back with /job undo which:%d, and record it with its right day.", b.Mark, b.Stage, b.Since.Long(), e.Words(), e.ID)
	}
	raised, err := list(ctx, a.Tx, scanBatch, firstRaised, b.ID)
	if err != nil {
		return err
	}
	if len(raised) > 0 && raised[0].Made < s.Since {
		return fault.New(fault.Unclear, "Batch %s came from batch %s on %s already. Give that day or an earlier one.", raised[0].Mark, b.Mark, raised[0].Made.Long())
	}
	if b.Parent == 0 {
		return nil
	}
	parent, err := batchByID(ctx, a.Tx, b.Parent)
	if err == nil && parent.Made > s.Since {
		err = fault.New(fault.Unclear, "Batch %s, which they came from, exists only since %s. Give that day or a later one.", parent.Mark, parent.Made.Long())
	}
	return err
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
		if !s.Since.IsZero() {
			if err := a.first(ctx, b, s); err != nil {
				return err
			}
			moved.Since = s.Since
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
		if err := errors.Join(err, exec(ctx, a.Tx, settleMade, b.ID)); err != nil {
			return err
		}
		if out.Batches[0], err = batchByID(ctx, a.Tx, b.ID); err != nil {
			return err
		}
		return a.settle(ctx, b.Variety, moved.Plan, &out)
	})
}
