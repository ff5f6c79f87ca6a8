package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

// Event is one thing that was recorded. Nothing is erased: what was recorded by mistake is marked undone.
type Event struct {
	ID        int64
	Member    int64
	Owner     string // whose
	By        int64  // who recorded it; another than Member where a steward did; 0 once that one left
	ByName    string
	Variety   int64  // 0 where it is of none
	Name      string // of the variety
	Plan      int64
	Deed      Deed
	Step      crop.Kind // where a step was done, put off or skipped
	On        calendar.Day
	Count     int
	Lost      int
	Note      string
	At        time.Time
	UndoneAt  time.Time // zero while it stands
	UndoneBy  string
	UndoneWhy string
}

// Deed is what was recorded. Its text is stored and never changes.
type Deed string

// The deeds.
const (
	DidStep  Deed = "done"
	GaveCare Deed = "care" // a recurring job
	PutOff   Deed = "later"
	Skipped  Deed = "skip"
	Added    Deed = "add"
	Counted  Deed = "count"
	Moving   Deed = "move"
	Aimed    Deed = "aim" // a target set
	Dropped  Deed = "drop"
	SawBloom Deed = "bloom"
	Gave     Deed = "given"    // by a swap
	Got      Deed = "received" // by a swap
	PutRight Deed = "correct"  // the number of a swap
	Reported Deed = "report"   // a pest
	Cleared  Deed = "clear"    // a hold
)

const selectEvents = `
SELECT e.id, e.member, m.name, e.by_member, COALESCE(w.name, ''), e.variety, COALESCE(v.name, ''), e.plan, e.deed, e.step, e.day, e.count, e.lost,
       e.note, e.at, e.undone_at, COALESCE(u.name, ''), e.undone_why
FROM event e JOIN member m ON m.id = e.member LEFT JOIN member w ON w.id = e.by_member LEFT JOIN variety v ON v.id = e.variety
     LEFT JOIN member u ON u.id = e.undone_by
`

func scanEvent(row scanner) (e Event, err error) {
	err = row.Scan(&e.ID, &e.Member, &e.Owner, (*ref)(&e.By), &e.ByName, (*ref)(&e.Variety), &e.Name, (*ref)(&e.Plan), &e.Deed, &e.Step,
		(*day)(&e.On), &e.Count, &e.Lost, &e.Note, (*instant)(&e.At), (*instant)(&e.UndoneAt), &e.UndoneBy, &e.UndoneWhy)
	return e, err
}

const (
	selectEvent       = selectEvents + `WHERE e.id = $1`
	selectMemberLog   = selectEvents + `WHERE e.member = $1 ORDER BY e.id DESC LIMIT $2`
	selectLastStands  = selectEvents + `WHERE e.member = $1 AND e.undone_at = 0 ORDER BY e.id DESC LIMIT 1`
	selectBatchLog    = selectEvents + `WHERE e.id IN (SELECT event FROM touch WHERE batch = $1) ORDER BY e.id`
	selectPlanLog     = selectEvents + `WHERE e.plan = $1 ORDER BY e.id`
	selectVarietyLog  = selectEvents + `WHERE e.member = $1 AND e.variety = $2 ORDER BY e.day, e.id`
	selectWholeLog    = selectEvents + `WHERE e.member = $1 ORDER BY e.id`
	selectStandsAfter = selectEvents + `
WHERE e.undone_at = 0 AND e.id > $1
  AND e.id IN (SELECT later.event FROM touch later JOIN touch mine ON mine.batch = later.batch AND mine.event = $1 AND mine.deed <> ''
               WHERE later.event > $1 AND later.deed <> '')
ORDER BY e.id DESC LIMIT 1`
)

func eventByID(ctx context.Context, tx *sql.Tx, id int64) (Event, error) {
	return one(fault.New(fault.Missing, "Nothing of that number was recorded. /job due shows what is open."), tx.QueryRowContext(ctx, selectEvent, id), scanEvent)
}

func (r *Register) events(ctx context.Context, query string, args ...any) (all []Event, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanEvent, query, args...); return err })
	return all, err
}

// Event gives what was recorded under a number.
func (r *Register) Event(ctx context.Context, id int64) (e Event, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { e, err = eventByID(ctx, tx, id); return err })
	return e, err
}

// LastEvent gives what was recorded last for a member and stands: what an undo without a number means.
func (r *Register) LastEvent(ctx context.Context, member int64) (e Event, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		e, err = one(fault.New(fault.Missing, "Nothing of yours is recorded that could be undone."), tx.QueryRowContext(ctx, selectLastStands, member), scanEvent)
		return err
	})
	return e, err
}

// Log gives a member's events, the newest first, undone ones too.
func (r *Register) Log(ctx context.Context, member int64, limit int) ([]Event, error) {
	return r.events(ctx, selectMemberLog, member, limit)
}

// VarietyLog gives a member's events of a variety by day.
func (r *Register) VarietyLog(ctx context.Context, member, variety int64) ([]Event, error) {
	return r.events(ctx, selectVarietyLog, member, variety)
}

// BatchLog gives the events that concern a batch, in order.
func (r *Register) BatchLog(ctx context.Context, batch int64) ([]Event, error) {
	return r.events(ctx, selectBatchLog, batch)
}

// PlanLog gives the events of a plan, in order.
func (r *Register) PlanLog(ctx context.Context, plan int64) ([]Event, error) {
	return r.events(ctx, selectPlanLog, plan)
}

const insertEvent = `
INSERT INTO event (coop, member, by_member, variety, plan, deed, step, day, count, lost, stage, note, at)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13) RETURNING id`

// record keeps an event of the deed under way; stage is that of the batches before it.
func (a *act) record(ctx context.Context, e Event, stage crop.Stage) (Event, error) {
	id, err := scanID(a.QueryRowContext(ctx, insertEvent, a.own.Coop, a.own.ID, a.by.ID, ref(e.Variety), ref(e.Plan), e.Deed, e.Step,
		day(e.On), e.Count, e.Lost, stage, e.Note, a.at.Unix()))
	if err != nil {
		return e, fmt.Errorf("recording %s: %w", e.Deed, err)
	}
	return eventByID(ctx, a.Tx, id)
}

// CountDeed is one deed by which a batch's number came about.
type CountDeed struct {
	Event Event
	Kind  CountKind
	Delta int
}

// CountKind is how a deed changes a number.
type CountKind string

// The kinds. Of Moved and Parted the sum over all batches is zero, and Source leaves the number alone.
const (
	Raised    CountKind = "raised"    // made from cuttings, or found when it was entered
	WokenUp   CountKind = "woken"     // came through the winter
	Lost      CountKind = "lost"      // died
	Given     CountKind = "given"     // to another member
	Received  CountKind = "received"  // from another member
	Recounted CountKind = "recounted" // counted wrongly before
	Parted    CountKind = "split"     // part of a batch became a batch of its own
	Moved     CountKind = "moved"     // the whole batch: stage or spot
	Source    CountKind = "source"    // cuttings were taken from it
)

const (
	insertTouch = `
INSERT INTO touch (event, batch, deed, delta, made, stage, since, spot, plan) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`
	selectCounts = `SELECT event, deed, delta FROM touch WHERE batch = $1 AND deed <> '' ORDER BY event, deed`
)

// touch keeps what an event did to a batch, given the batch as it was before.
func (a *act) touch(ctx context.Context, event int64, before Batch, kind CountKind, delta int, made bool) error {
	err := exec(ctx, a.Tx, insertTouch, event, before.ID, kind, delta, made, before.Stage, day(before.Since), before.Spot, ref(before.Plan))
	if err != nil {
		return fmt.Errorf("keeping a count: %w", err)
	}
	return nil
}

// Explain tells how a batch's number came about, in order, undone deeds too: the sum of those that stand is its count.
func (r *Register) Explain(ctx context.Context, batch int64) (deeds []CountDeed, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		deeds, err = list(ctx, tx, func(row scanner) (c CountDeed, err error) {
			err = row.Scan(&c.Event.ID, &c.Kind, &c.Delta)
			return c, err
		}, selectCounts, batch)
		for i := range deeds {
			if err != nil {
				break
			}
			deeds[i].Event, err = eventByID(ctx, tx, deeds[i].Event.ID)
		}
		return err
	})
	return deeds, err
}
