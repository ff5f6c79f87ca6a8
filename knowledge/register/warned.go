package register

import (
	"context"
	"fmt"

	"shortday/knowledge/health"
	"shortday/knowledge/variety"
)

// spread holds the kin of what was reported and tells those who should look.
func (a *act) spread(ctx context.Context, out *Sighted) error {
	rep := out.Report
	kin, err := traced(ctx, a.Tx, rep, false)
	if err != nil {
		return err
	}
	held := map[int64]bool{}
	for _, b := range rep.Batches {
		held[b.ID] = true
	}
	for _, k := range kin {
		since := rep.Since
		if k.Side == health.Target {
			since = k.Day
		}
		if err := exec(ctx, a.Tx, insertHold, k.Batch, rep.ID, HeldKin, day(since), day(out.Last)); err != nil {
			return fmt.Errorf("holding kin: %w", err)
		}
		held[k.Batch] = true
		b, err := batchByID(ctx, a.Tx, k.Batch)
		switch {
		case err != nil:
			return err
		case b.Live() && b.Member == a.own.ID:
			out.Kin = append(out.Kin, b)
		case b.Live():
			out.Others++
		}
	}
	if out.Warned, err = a.warnAll(ctx, rep); err != nil {
		return err
	}
	if err := a.warnReceivers(ctx, rep); err != nil {
		return err
	}
	if out.Beside, err = a.neighbours(ctx, rep, held); err != nil || rep.Aloud == Silent {
		return err
	}
	return a.tell(ctx, 0, WarnGroup, rep.ID)
}

// warnAll tells every other member who has plants that should be looked at.
func (a *act) warnAll(ctx context.Context, rep Report) (told int, err error) {
	all, err := traced(ctx, a.Tx, rep, true)
	if err != nil {
		return 0, err
	}
	for _, s := range all {
		b, err := batchByID(ctx, a.Tx, s.Batch)
		if err != nil {
			return told, err
		}
		if !b.Live() || b.Member == 0 {
			continue
		}
		fresh, err := a.warn(ctx, rep, b.Member)
		if err != nil {
			return told, err
		}
		if fresh {
			told++
		}
	}
	return told, nil
}

// warn tells a member to look, unless the report is theirs or they know of it.
func (a *act) warn(ctx context.Context, rep Report, member int64) (fresh bool, err error) {
	if member == rep.Member {
		return false, nil
	}
	told, err := list(ctx, a.Tx, scanID, insertWarned, rep.ID, member, day(a.today), false)
	if err != nil || len(told) == 0 {
		return false, err
	}
	return true, a.tell(ctx, member, LookToday, rep.ID)
}

const selectBeside = selectBatches + `WHERE b.member = $1 AND b.ended = '' AND b.spot <> '' ORDER BY b.id`

// neighbours gives what stands in the same places now, is not held by the report, and has none of its own of that day.
func (a *act) neighbours(ctx context.Context, rep Report, held map[int64]bool) (beside []Batch, err error) {
	spots := map[string]bool{}
	for _, b := range rep.Batches {
		if b.Live() && b.Spot != "" {
			spots[variety.Fold(b.Spot)] = true
		}
	}
	if len(spots) == 0 {
		return nil, nil
	}
	live, err := list(ctx, a.Tx, scanBatch, selectBeside, a.own.ID)
	if err != nil {
		return nil, err
	}
	for _, b := range live {
		if !spots[variety.Fold(b.Spot)] || held[b.ID] {
			continue
		}
		same, err := list(ctx, a.Tx, scanID, selectAlready, b.ID, rep.Pest, day(rep.Seen))
		if err != nil {
			return nil, err
		}
		if len(same) == 0 {
			beside = append(beside, b)
		}
	}
	return beside, nil
}

// tellWarned tells all who learnt of a report, and the one who made it, but not the member whose deed it is.
func (a *act) tellWarned(ctx context.Context, rep Report, kind TidingKind, subject int64) (told int, err error) {
	knows, err := list(ctx, a.Tx, scanID, selectWarned, rep.ID)
	if err != nil {
		return 0, err
	}
	for _, member := range append(knows, rep.Member) {
		if member == a.own.ID || member == 0 {
			continue
		}
		if err := a.tell(ctx, member, kind, subject); err != nil {
			return told, err
		}
		told++
	}
	return told, nil
}

// Learnt keeps that a member learnt of a report by asking for its trace: what becomes of it they are told.
func (r *Register) Learnt(ctx context.Context, actor Actor, report int64) error {
	return r.act(ctx, actor, func(a *act) error {
		_, err := list(ctx, a.Tx, scanID, insertWarned, report, a.own.ID, day(a.today), true)
		return err
	})
}
