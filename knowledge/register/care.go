package register

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
)

// CareJob is one recurring job of all of a member's batches that need it on the same day for the same reason.
type CareJob struct {
	crop.Care
	Stage   crop.Stage
	Batches []Batch
}

func recurring(k crop.Kind) bool {
	return k == crop.Water || k == crop.Feed || k == crop.CheckStore || k == crop.Look
}

const (
	selectCare = `SELECT batch, kind, last FROM care WHERE batch IN (SELECT id FROM batch WHERE member = $1 AND ended = '')`
	keepCare   = `
INSERT INTO care (batch, kind, last) VALUES ($1, $2, $3)
ON CONFLICT (batch, kind) DO UPDATE SET last = CASE WHEN excluded.last > care.last THEN excluded.last ELSE care.last END`
	recallCare = `
UPDATE care SET last = COALESCE((SELECT max(e.day) FROM touch t JOIN event e ON e.id = t.event
                                 WHERE t.batch = care.batch AND e.step = care.kind AND e.deed = 'care' AND e.undone_at = 0), '')
WHERE kind = $2 AND batch IN (SELECT batch FROM touch WHERE event = $1)`
)

// Care gives the recurring jobs of a member's live batches that are due up to a day, the earliest first; those that are
// held back today are looked at.
func (r *Register) Care(ctx context.Context, member int64, today, until calendar.Day) (due []CareJob, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		live, err := liveBatches(ctx, tx, member, 0)
		if err != nil {
			return err
		}
		due, err = careOf(ctx, tx, member, today, live)
		return err
	})
	return slices.DeleteFunc(due, func(c CareJob) bool { return c.Next > until }), err
}

const selectPresent = `
SELECT id FROM member WHERE coop = $1 AND NOT EXISTS (SELECT 1 FROM reach r WHERE r.member = member.id AND r.away > 0) ORDER BY folded, id`

// CareOfCoop gives the recurring jobs of the live batches of a co-op's members that are due up to a day, member by member.
// What is looked over is left out: that plants are held is not the group's to hear.
func (r *Register) CareOfCoop(ctx context.Context, coop int64, until calendar.Day) (due []CareJob, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		members, err := list(ctx, tx, scanID, selectPresent, coop)
		for _, member := range members {
			live, err := liveBatches(ctx, tx, member, 0)
			if err != nil {
				return err
			}
			theirs, err := careOf(ctx, tx, member, 0, live)
			if err != nil {
				return err
			}
			due = append(due, theirs...)
		}
		return err
	})
	return slices.DeleteFunc(due, func(c CareJob) bool { return c.Next > until }), err
}

type careKey struct {
	batch int64
	kind  crop.Kind
}

func careOf(ctx context.Context, tx *sql.Tx, member int64, today calendar.Day, live []Batch) (all []CareJob, err error) {
	last := map[careKey]calendar.Day{}
	_, err = list(ctx, tx, func(row scanner) (k careKey, err error) {
		var on calendar.Day
		err = row.Scan(&k.batch, &k.kind, (*day)(&on))
		last[k] = on
		return k, err
	}, selectCare, member)
	if err != nil {
		return nil, err
	}
	looks, err := looksOf(ctx, tx, member, today, last)
	if err != nil {
		return nil, err
	}
	seat, err := seatOf(ctx, tx, member)
	if err != nil {
		return nil, err
	}
	at := seat.Place().Point
	for _, b := range live {
		for _, c := range append(crop.CareOf(b.Stage, b.Since, at, today, func(k crop.Kind) calendar.Day { return last[careKey{b.ID, k}] }), looks[b.ID]...) {
			i := slices.IndexFunc(all, func(j CareJob) bool { return j.Care == c && j.Stage == b.Stage })
			if i < 0 {
				i, all = len(all), append(all, CareJob{Care: c, Stage: b.Stage})
			}
			all[i].Batches = append(all[i].Batches, b)
		}
	}
	slices.SortStableFunc(all, func(a, b CareJob) int { return a.Next.Sub(b.Next) })
	return all, nil
}

// looksOf gives when the batches that are held back on a day are looked at, none on no day: what came in weekly from the day it came,
// what may carry a pest from the day of the report on.
func looksOf(ctx context.Context, tx *sql.Tx, member int64, today calendar.Day, last map[careKey]calendar.Day) (map[int64][]crop.Care, error) {
	if today.IsZero() {
		return nil, nil
	}
	holds, err := list(ctx, tx, scanHold, selectHeldOwn, member, day(today))
	if err != nil {
		return nil, err
	}
	looks := map[int64][]crop.Care{}
	for _, h := range holds {
		from := h.Since
		if h.Report != 0 {
			from = h.Seen
		}
		c := crop.LookOver(from, h.Last, last[careKey{h.Batch, crop.Look}], h.Report != 0)
		switch was := looks[h.Batch]; {
		case c.Kind == "":
		case len(was) == 0:
			looks[h.Batch] = []crop.Care{c}
		case c.Next < was[0].Next:
			was[0] = c
		}
	}
	return looks, nil
}

// care records a recurring job as done: for the batches named, or those of the variety, or all that need such care.
func (a *act) care(ctx context.Context, s Step, out *Outcome) error {
	batches, err := a.tended(ctx, s)
	if err != nil {
		return err
	}
	if len(batches) == 0 {
		return fault.New(fault.Missing, "You have no plants that need this. /stock list shows what you keep.")
	}
	e := Event{Variety: s.Variety, Deed: GaveCare, Step: s.Kind, On: s.On, Count: len(batches), Note: s.Note}
	if out.Event, err = a.record(ctx, e, ""); err != nil {
		return err
	}
	for _, b := range batches {
		if err := a.touch(ctx, out.Event.ID, b, "", 0, false); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, keepCare, b.ID, s.Kind, day(s.On)); err != nil {
			return fmt.Errorf("recording care: %w", err)
		}
	}
	out.Batches = batches
	return nil
}

func (a *act) tended(ctx context.Context, s Step) ([]Batch, error) {
	if len(s.Batches) > 0 {
		return a.chosen(ctx, &s)
	}
	if s.Kind == crop.Look {
		held, err := heldBatches(ctx, a.Tx, a.own.ID, a.today)
		return slices.DeleteFunc(held, func(b Batch) bool { return b.Made > s.On || s.Variety != 0 && b.Variety != s.Variety }), err
	}
	live, err := liveBatches(ctx, a.Tx, a.own.ID, s.Variety)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(live, func(b Batch) bool {
		needs := crop.CareOf(b.Stage, b.Since, place.Point{}, 0, func(crop.Kind) calendar.Day { return 0 })
		return b.Made > s.On || !slices.ContainsFunc(needs, func(c crop.Care) bool { return c.Kind == s.Kind })
	}), nil
}
