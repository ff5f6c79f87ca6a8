package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
)

// Hold keeps a batch back from offers, proposals and handovers.
type Hold struct {
	ID     int64
	Batch  int64
	Report int64 // 0: new stock that stands apart
	Pest   health.Key
	Why    HoldReason
	Seen   calendar.Day // when the pest was; zero for new stock
	Since  calendar.Day // what parted before is not held
	Last   calendar.Day // the last day: the batch may be passed on from the day after
	Ended  bool         // it was cleared, or its report taken back
}

// HoldReason is why a batch is held back. Its text is stored and never changes.
type HoldReason string

// The reasons.
const (
	HeldSeen  HoldReason = "seen"  // a pest was seen on it
	HeldKin   HoldReason = "kin"   // it may carry the pest by lineage or handovers
	HeldApart HoldReason = "apart" // it came in, and stands apart for a time
)

// Stands reports whether the batch is held back on a day.
func (h Hold) Stands(today calendar.Day) bool { return !h.Ended && today <= h.Last }

// Refusal says why a batch of that mark is not passed on.
func (h Hold) Refusal(mark string) *fault.Error {
	if h.Why == HeldApart {
		return fault.New(fault.Later, "Batch %s came in and stands apart until %s; it is not passed on before. /health clear ends that with a reason.", mark, h.Last.Long())
	}
	return fault.New(fault.Later, "Batch %s is held back until %s, because %s was reported on it or its kin; it is not passed on before. /health trace tells more, and /health clear ends the hold with a reason.",
		mark, h.Last.Long(), h.pestName())
}

func (h Hold) pestName() string {
	if p, ok := health.PestOf(h.Pest); ok && p.Key != health.Other {
		return p.Name
	}
	return "a pest"
}

// heldNow is the condition under which the batch b is held back on the day $1; queries of what may be passed on put NOT
// before it. With heldOn the day's own number follows.
const (
	heldOn  = `EXISTS (SELECT 1 FROM hold h WHERE h.batch = b.id AND h.clearing IS NULL AND h.last >= `
	heldNow = heldOn + `$1)`
)

const (
	selectHolds = `
SELECT h.id, h.batch, h.report, COALESCE(r.pest, ''), h.why, COALESCE(r.seen, ''), h.since, h.last, h.clearing IS NOT NULL
FROM hold h LEFT JOIN report r ON r.id = h.report
`
	selectHoldsOf   = selectHolds + `WHERE h.batch = $1 AND h.clearing IS NULL AND h.last >= $2 ORDER BY h.last DESC, h.id`
	selectHeldOwn   = selectHolds + `WHERE h.batch IN (SELECT id FROM batch WHERE member = $1 AND ended = '') AND h.clearing IS NULL AND h.last >= $2 ORDER BY h.batch, h.last DESC, h.id`
	selectAllHolds  = selectHolds + `WHERE h.batch IN (SELECT id FROM batch WHERE member = $1) ORDER BY h.id`
	selectHoldsFrom = selectHolds + `WHERE h.report = $1 ORDER BY h.id`
	selectHeld      = selectBatches + `WHERE b.member = $2 AND b.ended = '' AND ` + heldNow + ` ORDER BY b.id`
	insertHold      = `
INSERT INTO hold (batch, report, why, since, last) VALUES ($1, $2, $3, $4, $5)
ON CONFLICT (batch, COALESCE(report, 0)) DO UPDATE SET clearing = NULL, since = excluded.since,
       last = CASE WHEN excluded.last > hold.last THEN excluded.last ELSE hold.last END,
       why = CASE WHEN hold.why = 'seen' THEN 'seen' ELSE excluded.why END`
	passHold = `
INSERT INTO hold (batch, report, why, since, last)
SELECT $1, report, CASE why WHEN 'apart' THEN 'apart' ELSE 'kin' END, $3, last FROM hold
WHERE batch = $2 AND clearing IS NULL AND since <= $3 AND last >= $4
ON CONFLICT (batch, COALESCE(report, 0)) DO NOTHING RETURNING COALESCE(report, 0)`
)

func scanHold(row scanner) (h Hold, err error) {
	err = row.Scan(&h.ID, &h.Batch, (*ref)(&h.Report), &h.Pest, &h.Why, (*day)(&h.Seen), (*day)(&h.Since), (*day)(&h.Last), &h.Ended)
	return h, err
}

// HoldOf tells whether a batch is held back on a day: the hold that lasts longest, the zero Hold if there is none.
func (r *Register) HoldOf(ctx context.Context, batch int64, today calendar.Day) (h Hold, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { h, err = holdOf(ctx, tx, batch, today); return err })
	return h, err
}

func holdOf(ctx context.Context, tx *sql.Tx, batch int64, today calendar.Day) (Hold, error) {
	holds, err := list(ctx, tx, scanHold, selectHoldsOf, batch, day(today))
	if err != nil || len(holds) == 0 {
		return Hold{}, err
	}
	return holds[0], nil
}

// Holds gives what stands of the holds on a member's live batches on a day, by batch.
func (r *Register) Holds(ctx context.Context, member int64, today calendar.Day) (all []Hold, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanHold, selectHeldOwn, member, day(today))
		return err
	})
	return all, err
}

// Held gives a member's live batches that are held back on a day.
func (r *Register) Held(ctx context.Context, member int64, today calendar.Day) (held []Batch, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { held, err = heldBatches(ctx, tx, member, today); return err })
	return held, err
}

func heldBatches(ctx context.Context, tx *sql.Tx, member int64, today calendar.Day) ([]Batch, error) {
	return list(ctx, tx, scanBatch, selectHeld, day(today), member)
}

// passable refuses a batch that is held back today: it is not offered, proposed or handed over.
func (a *act) passable(ctx context.Context, b Batch) error {
	h, err := holdOf(ctx, a.Tx, b.ID, a.today)
	if err != nil || h.ID == 0 {
		return err
	}
	return h.Refusal(b.Mark)
}

// ApartSetting is the co-op's number of days for which new stock stands apart; 0 is health.ApartDays.
const ApartSetting = "apart"

// standApart holds a batch that came in on a day for the co-op's time, in which it is looked at weekly.
func (a *act) standApart(ctx context.Context, batch int64, came calendar.Day) (Hold, error) {
	set, err := settings(ctx, a.Tx, a.own.Coop)
	if err != nil {
		return Hold{}, err
	}
	days := health.ApartDays
	if own := set[ApartSetting]; own > 0 {
		days = int(own)
	}
	if err := exec(ctx, a.Tx, insertHold, batch, ref(0), HeldApart, day(came), day(health.StandApart(came, days).Until)); err != nil {
		return Hold{}, fmt.Errorf("holding new stock: %w", err)
	}
	return holdOf(ctx, a.Tx, batch, a.today)
}

// inherit holds a batch that was raised, split or received from one that is held, if it parted from it in the time that
// counts. A member who comes to have kin of what was reported only so is told then.
func (a *act) inherit(ctx context.Context, b Batch) error {
	if b.Parent == 0 {
		return nil
	}
	reports, err := list(ctx, a.Tx, scanID, passHold, b.ID, b.Parent, day(b.Made), day(a.today))
	if err != nil {
		return fmt.Errorf("holding kin: %w", err)
	}
	for _, id := range reports {
		if id == 0 {
			continue
		}
		rep, err := reportByID(ctx, a.Tx, id)
		if err != nil {
			return err
		}
		if _, err := a.warn(ctx, rep, b.Member); err != nil {
			return err
		}
	}
	return nil
}
