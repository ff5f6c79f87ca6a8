package register

import (
	"context"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

const (
	markUndone  = `UPDATE event SET undone_at = $2, undone_by = $3, undone_why = $4 WHERE id = $1`
	touchedBy   = `SELECT batch, sum(delta), min(stage), min(since), min(spot), min(plan) FROM touch WHERE event = $1 AND deed <> '' GROUP BY batch ORDER BY batch DESC`
	reopenPlan  = `UPDATE plan SET ended = '', ending = '' WHERE id = $1`
	targetBuilt = `SELECT count(*) FROM event WHERE plan = $1 AND undone_at = 0 AND id <> $2`
)

// Undo takes back what was recorded by mistake: batches return to what they were, what moved moves back, and the event
// is kept with the reason. It is refused as Taken while something later rests on it.
func (r *Register) Undo(ctx context.Context, actor Actor, event int64, reason string) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		e, err := eventByID(ctx, a.Tx, event)
		if err != nil {
			return err
		}
		if err := a.mine(e.Member, "What was recorded there"); err != nil {
			return err
		}
		if err := a.undoable(ctx, e); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, markUndone, e.ID, a.at.Unix(), a.by.ID, reason); err != nil {
			return fmt.Errorf("undoing: %w", err)
		}
		if out.Event, err = eventByID(ctx, a.Tx, e.ID); err != nil {
			return err
		}
		if err := a.takeBack(ctx, e, &out); err != nil {
			return err
		}
		if err := a.unreport(ctx, e, reason); err != nil {
			return err
		}
		if err := a.reopen(ctx, e); err != nil || e.Variety == 0 {
			return err
		}
		return a.settleBloom(ctx, e, &out)
	})
}

func (a *act) undoable(ctx context.Context, e Event) error {
	if !e.UndoneAt.IsZero() {
		return fault.New(fault.Taken, "That was undone on %s already.", calendar.DayAt(e.UndoneAt).Long())
	}
	if e.ofSwap() {
		return fault.New(fault.Taken, "A handover is two members' and is not undone. /swap correct puts its number right, with a reason.")
	}
	later, err := list(ctx, a.Tx, scanEvent, selectStandsAfter, e.ID)
	if err != nil {
		return err
	}
	if len(later) > 0 && later[0].ofSwap() {
		return fault.New(fault.Taken, "A handover of the same plants rests on it: %s on %s. /stock count puts the batch's number right instead.", later[0].Words(), later[0].On.Long())
	}
	if len(later) > 0 {
		return fault.New(fault.Taken, "What was recorded later for the same plants rests on it: %s on %s. Undo that first.", later[0].Words(), later[0].On.Long())
	}
	if e.Deed != Aimed {
		return nil
	}
	built, err := scanID(a.QueryRowContext(ctx, targetBuilt, e.Plan, e.ID))
	if err == nil && built > 0 {
		err = fault.New(fault.Taken, "Steps were recorded for that target. Drop it instead: /target drop.")
	}
	return err
}

// ofSwap reports whether the event is a handover, or its correction.
func (e Event) ofSwap() bool { return e.Deed == Gave || e.Deed == Got || e.Deed == PutRight }

// Words names what was recorded, in the trade's words: "pot", "count".
func (e Event) Words() string {
	if e.Step != "" && e.Deed != PutOff && e.Deed != Skipped {
		return string(e.Step)
	}
	if e.Step != "" {
		return string(e.Deed) + " " + string(e.Step)
	}
	return string(e.Deed)
}

// takeBack gives the batches the state that they had before the event; those it made have no plants any more.
func (a *act) takeBack(ctx context.Context, e Event, out *Outcome) error {
	type trace struct {
		before Batch
		delta  int
	}
	traces, err := list(ctx, a.Tx, func(row scanner) (t trace, err error) {
		b := &t.before
		err = row.Scan(&b.ID, &t.delta, &b.Stage, (*day)(&b.Since), &b.Spot, (*ref)(&b.Plan))
		return t, err
	}, touchedBy, e.ID)
	if err != nil {
		return err
	}
	for _, t := range traces {
		now, err := batchByID(ctx, a.Tx, t.before.ID)
		if err != nil {
			return err
		}
		t.before.Count = now.Count - t.delta
		if err := a.storeBatch(ctx, t.before, a.today); err != nil {
			return err
		}
		if e.Deed == Moving {
			if err := exec(ctx, a.Tx, settleMade, t.before.ID); err != nil {
				return err
			}
		}
		if err := a.show(ctx, out, t.before.ID); err != nil {
			return err
		}
	}
	return exec(ctx, a.Tx, recallCare, e.ID, e.Step)
}

// reopen lets a plan run again that the event had ended, and ends one that it had made.
func (a *act) reopen(ctx context.Context, e Event) error {
	if e.Plan == 0 {
		return nil
	}
	p, err := planByID(ctx, a.Tx, e.Plan)
	if err != nil {
		return err
	}
	switch {
	case e.Deed == Aimed && p.Ending == Running:
		return exec(ctx, a.Tx, endPlan, p.ID, day(a.today), EndDropped)
	case e.Deed == Dropped && p.Ending == EndDropped, e.Step == crop.Box && e.Deed == DidStep && p.Ending == EndBoxed:
		keep, err := list(ctx, a.Tx, scanID, selectKeep, a.own.ID, e.Variety)
		if err != nil {
			return err
		}
		for _, id := range keep { // the year that had begun after it
			if err := a.closeKeep(ctx, id); err != nil {
				return err
			}
		}
		return exec(ctx, a.Tx, reopenPlan, p.ID)
	}
	return nil
}

// settleBloom settles the plans of an event's variety: a bloom is learnt from by all who grow it.
func (a *act) settleBloom(ctx context.Context, e Event, out *Outcome) error {
	if err := a.settle(ctx, e.Variety, e.Plan, out); err != nil || e.Deed != SawBloom {
		return err
	}
	others, err := reckonWhere(ctx, a.Tx, a.today, selectOthersPlans, e.Variety, a.own.ID)
	out.Moved = append(out.Moved, others...)
	return err
}
