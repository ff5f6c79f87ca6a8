package register

import (
	"context"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

// advance takes a batch, or the part of it that was counted, on to a stage.
func (a *act) advance(ctx context.Context, out *Outcome, b Batch, s Step, stage crop.Stage) error {
	if s.On < b.Since {
		return fault.New(fault.Unclear, "Batch %s is %s only since %s. Give that day or a later one, or undo what came before.", b.Mark, b.Stage, b.Since.Long())
	}
	if b.Stage == stage && s.Kind != crop.FinalPot && s.Kind != crop.PlantOut {
		return fault.New(fault.Taken, "Batch %s is %s already, since %s. Name another batch.", b.Mark, b.Stage, b.Since.Long())
	}
	if s.Lost > b.Count || s.Count > b.Count-s.Lost {
		return tooMany(b, s.Count+s.Lost)
	}
	n := s.Count
	if n == 0 {
		n = b.Count - s.Lost
	}
	after := b
	if s.Lost > 0 {
		if err := a.touch(ctx, out.Event.ID, b, Lost, -s.Lost, false); err != nil {
			return err
		}
		after.Count -= s.Lost
	}
	kind := Moved
	if s.Kind == crop.Wake {
		kind = WokenUp
	}
	if n == 0 || n == after.Count {
		if n > 0 {
			after.Stage, after.Since = stage, s.On
			after.Plan = a.meantFor(out, b)
		}
		if s.Spot != "" {
			after.Spot = s.Spot
		}
		return a.change(ctx, out, b, after, kind, 0, s.On)
	}
	part := b
	part.Stage, part.Since, part.Plan = stage, s.On, a.meantFor(out, b)
	if s.Spot != "" {
		part.Spot = s.Spot
	}
	return a.part(ctx, out, b, after, part, n, kind, s.On)
}

// meantFor gives the target that plants are meant for after a step of it.
func (a *act) meantFor(out *Outcome, b Batch) int64 {
	if b.Plan == 0 {
		return out.Event.Plan
	}
	return b.Plan
}

func tooMany(b Batch, n int) error {
	return fault.New(fault.Unclear, "Batch %s has %d, not %d. If it really has more, count it first with /stock count.", b.Mark, b.Count, n)
}

// change keeps a batch's state after an event, with the state before it.
func (a *act) change(ctx context.Context, out *Outcome, before, after Batch, kind CountKind, delta int, on calendar.Day) error {
	if err := a.touch(ctx, out.Event.ID, before, kind, delta, false); err != nil {
		return err
	}
	after.Count += delta
	if err := a.storeBatch(ctx, after, on); err != nil {
		return err
	}
	return a.show(ctx, out, before.ID)
}

// part makes n plants of a batch a batch of their own, which remembers it.
func (a *act) part(ctx context.Context, out *Outcome, before, after, part Batch, n int, kind CountKind, on calendar.Day) error {
	if err := a.change(ctx, out, before, after, Parted, -n, on); err != nil {
		return err
	}
	part.Count, part.Parent, part.Made = n, before.ID, on
	made, err := a.newBatch(ctx, part)
	if err != nil {
		return err
	}
	if kind == Moved {
		kind = Parted
	}
	if err := a.touch(ctx, out.Event.ID, made, kind, n, true); err != nil {
		return err
	}
	return a.show(ctx, out, made.ID)
}

// raise makes a batch of new plants: cuttings of a batch, or of stock that is not in the register.
func (a *act) raise(ctx context.Context, out *Outcome, from Batch, s Step, stage crop.Stage) error {
	if s.On < from.Made {
		return fault.New(fault.Unclear, "Batch %s exists only since %s. Give that day or a later one.", from.Mark, from.Made.Long())
	}
	if from.ID != 0 {
		if err := a.touch(ctx, out.Event.ID, from, Source, 0, false); err != nil {
			return err
		}
		if s.Count == 0 { // cuttings that nobody counted
			return nil
		}
	}
	plan := out.Event.Plan // which need not be that of the stools
	if plan == 0 {
		plan = from.Plan
	}
	made, err := a.newBatch(ctx, Batch{Variety: s.Variety, Stage: stage, Since: s.On, Count: s.Count, Spot: s.Spot, Parent: from.ID,
		Plan: plan, Made: s.On})
	if err != nil {
		return err
	}
	if err := a.touch(ctx, out.Event.ID, made, Raised, s.Count, true); err != nil {
		return err
	}
	return a.show(ctx, out, made.ID)
}

// show adds a batch, as it is now, to the outcome.
func (a *act) show(ctx context.Context, out *Outcome, id int64) error {
	b, err := batchByID(ctx, a.Tx, id)
	out.Batches = append(out.Batches, b)
	return err
}
