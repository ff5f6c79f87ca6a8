package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/fault"
)

// clearing is what ends holds.
type clearing struct {
	report int64
	event  int64
	whole  bool
	reason string
}

// Clearance is what ended holds, as those are told who were told of them.
type Clearance struct {
	ID      int64
	Report  Report // zero: new stock that stood apart
	Whole   bool   // all that the report held
	Reason  string
	Undone  bool    // the holds stand again
	Batches []Batch // those no longer held by it
}

const (
	insertClearing = `INSERT INTO clearing (report, event, whole, reason) VALUES ($1, $2, $3, $4) RETURNING id`
	unholdReport   = `UPDATE hold SET clearing = $1 WHERE report = $2 AND clearing IS NULL RETURNING batch`
	unholdOne      = `UPDATE hold SET clearing = $1 WHERE id = $2 AND clearing IS NULL RETURNING batch`
	holdAgain      = `UPDATE hold SET clearing = NULL WHERE clearing = $1 AND NOT EXISTS (SELECT 1 FROM report r WHERE r.id = hold.report AND r.undone = 1)`
	undoClearing   = `UPDATE clearing SET undone = 1 WHERE event = $1 AND undone = 0 RETURNING id, COALESCE(report, 0), whole`
	selectClearing = `SELECT id, COALESCE(report, 0), whole, reason, undone FROM clearing WHERE id = $1`
	selectUnheld   = selectBatches + `WHERE b.id IN (SELECT batch FROM hold WHERE clearing = $1) ORDER BY b.id`
)

// unhold ends holds and keeps why.
func (a *act) unhold(ctx context.Context, c clearing, query string, what int64) (int64, error) {
	id, err := scanID(a.QueryRowContext(ctx, insertClearing, ref(c.report), ref(c.event), c.whole, c.reason))
	if err != nil {
		return 0, fmt.Errorf("clearing a hold: %w", err)
	}
	_, err = list(ctx, a.Tx, scanID, query, id, what)
	return id, err
}

// Freed is what a clearing led to.
type Freed struct {
	Event   Event
	Reports []Report // those that held it
	Apart   bool     // it stood apart
	Batches []Batch  // what is no longer held
	Still   []Batch  // the member's own that something else holds yet
	Told    int      // members who are told
}

// ClearBatch ends all that holds a batch of the member's own, with a reason, and tells those who were told of it.
func (r *Register) ClearBatch(ctx context.Context, actor Actor, batch int64, reason string) (out Freed, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		b, err := batchByID(ctx, a.Tx, batch)
		if err != nil {
			return err
		}
		if err := a.mine(b.Member, "Batch "+b.Mark); err != nil {
			return err
		}
		holds, err := list(ctx, a.Tx, scanHold, selectHoldsOf, b.ID, day(a.today))
		if err != nil {
			return err
		}
		if len(holds) == 0 {
			return fault.New(fault.Taken, "Batch %s is not held back. /stock list shows your plants, and /health clear without a batch those that are held.", b.Mark)
		}
		e := Event{Variety: b.Variety, Deed: Cleared, On: a.today, Note: reason}
		if out.Event, err = a.record(ctx, e, ""); err != nil {
			return err
		}
		if err := a.touch(ctx, out.Event.ID, b, "", 0, false); err != nil {
			return err
		}
		for _, h := range holds {
			id, err := a.unhold(ctx, clearing{report: h.Report, event: out.Event.ID, reason: reason}, unholdOne, h.ID)
			if err != nil {
				return err
			}
			if h.Report == 0 {
				out.Apart = true
				continue
			}
			if err := a.tellCleared(ctx, &out, h.Report, id, false); err != nil {
				return err
			}
		}
		out.Batches = []Batch{b}
		return nil
	})
}

// ClearReport ends all that a report of the member's own holds, with a reason, and tells those who were told of it.
func (r *Register) ClearReport(ctx context.Context, actor Actor, report int64, reason string) (out Freed, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		rep, err := a.ownReport(ctx, report)
		if err != nil {
			return err
		}
		standing, err := list(ctx, a.Tx, scanHold, selectHoldsFrom, rep.ID)
		if err != nil {
			return err
		}
		none := true
		for _, h := range standing {
			none = none && !h.Stands(a.today)
		}
		if none {
			return fault.New(fault.Taken, "Report %d holds nothing any more. /health report makes a new one.", rep.ID)
		}
		if out.Event, err = a.record(ctx, Event{Deed: Cleared, On: a.today, Note: reason}, ""); err != nil {
			return err
		}
		id, err := a.unhold(ctx, clearing{report: rep.ID, event: out.Event.ID, whole: true, reason: reason}, unholdReport, rep.ID)
		if err != nil {
			return err
		}
		freed, err := list(ctx, a.Tx, scanBatch, selectUnheld, id)
		if err != nil {
			return err
		}
		for _, b := range freed {
			h, err := holdOf(ctx, a.Tx, b.ID, a.today)
			switch {
			case err != nil:
				return err
			case b.Live() && h.ID == 0:
				out.Batches = append(out.Batches, b)
			case b.Live() && b.Member == a.own.ID:
				out.Still = append(out.Still, b)
			}
		}
		return a.tellCleared(ctx, &out, rep.ID, id, true)
	})
}

func (a *act) tellCleared(ctx context.Context, out *Freed, report, id int64, whole bool) error {
	rep, err := reportByID(ctx, a.Tx, report)
	if err != nil {
		return err
	}
	out.Reports = append(out.Reports, rep)
	told, err := a.tellWarned(ctx, rep, Unheld, id)
	out.Told = max(out.Told, told)
	if err != nil || !whole || rep.Aloud == Silent {
		return err
	}
	return a.tell(ctx, 0, Unheld, id)
}

// unreport takes back what an event reported or cleared.
func (a *act) unreport(ctx context.Context, e Event, reason string) error {
	switch e.Deed {
	case Reported:
		return a.takeBackReport(ctx, e, reason)
	case Cleared:
		return a.takeBackClearing(ctx, e)
	}
	return nil
}

// takeBackClearing lets the holds that a clearing ended stand again, and tells the same as were told of it.
func (a *act) takeBackClearing(ctx context.Context, e Event) error {
	type undone struct {
		id, report int64
		whole      bool
	}
	all, err := list(ctx, a.Tx, func(row scanner) (u undone, err error) {
		err = row.Scan(&u.id, &u.report, &u.whole)
		return u, err
	}, undoClearing, e.ID)
	if err != nil {
		return err
	}
	for _, u := range all {
		if err := exec(ctx, a.Tx, holdAgain, u.id); err != nil {
			return fmt.Errorf("holding again: %w", err)
		}
		if u.report == 0 {
			continue
		}
		if err := a.tellCleared(ctx, &Freed{}, u.report, u.id, u.whole); err != nil {
			return err
		}
	}
	return nil
}

// Clearance gives what ended holds.
func (r *Register) Clearance(ctx context.Context, id int64) (c Clearance, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		var report int64
		c, err = one(fault.New(fault.Missing, "That hold is not in the register any more."), tx.QueryRowContext(ctx, selectClearing, id), func(row scanner) (c Clearance, err error) {
			err = row.Scan(&c.ID, &report, &c.Whole, &c.Reason, &c.Undone)
			return c, err
		})
		if err != nil {
			return err
		}
		if report != 0 {
			if c.Report, err = reportByID(ctx, tx, report); err != nil {
				return err
			}
		}
		c.Batches, err = list(ctx, tx, scanBatch, selectUnheld, id)
		return err
	})
	return c, err
}
