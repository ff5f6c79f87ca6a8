package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

// Promise is stems that the co-op promised for a week.
type Promise struct {
	ID      int64
	Coop    int64
	Number  int          // by which the co-op names it
	Week    calendar.Day // any day of it; kept is its Monday
	Stems   int
	Variety int64  // 0: any that is like Colour, Season and Form say
	Name    string // of the variety
	Colour  string // part of the colour as printed
	Season  variety.Season
	Form    variety.Form
	Buyer   string // for the stewards alone
	By      int64  // who made it; 0 once that member has left
	At      time.Time
	Dropped calendar.Day // zero while it stands
}

const (
	selectPromises = `
SELECT p.id, p.coop, p.number, p.week, p.stems, p.variety, COALESCE(v.name, ''), p.colour, p.season, p.form, p.buyer, p.made_by, p.made_at, p.dropped
FROM promise p LEFT JOIN variety v ON v.id = p.variety
`
	selectPromise         = selectPromises + `WHERE p.id = $1`
	selectPromiseNumbered = selectPromises + `WHERE p.coop = $1 AND p.number = $2`
	selectPromisesBetween = selectPromises + `WHERE p.coop = $1 AND p.week >= $2 AND p.week <= $3 AND p.dropped = '' ORDER BY p.week, p.number`
	selectPromisesOf      = selectPromises + `WHERE p.made_by = $1 ORDER BY p.id`
	insertPromise         = `
INSERT INTO promise (coop, number, week, stems, variety, colour, season, form, buyer, made_by, made_at)
VALUES ($1, (SELECT COALESCE(max(number), 0) + 1 FROM promise WHERE coop = $1), $2, $3, $4, $5, $6, $7, $8, $9, $10) RETURNING id`
	updatePromise = `
UPDATE promise SET week = $2, stems = $3, variety = $4, colour = $5, season = $6, form = $7, buyer = $8, dropped = $9 WHERE id = $1`
)

func scanPromise(row scanner) (p Promise, err error) {
	err = row.Scan(&p.ID, &p.Coop, &p.Number, (*day)(&p.Week), &p.Stems, (*ref)(&p.Variety), &p.Name, &p.Colour, &p.Season, &p.Form, &p.Buyer,
		(*ref)(&p.By), (*instant)(&p.At), (*day)(&p.Dropped))
	return p, err
}

func missingPromise() *fault.Error {
	return fault.New(fault.Missing, "The co-op has no such promise. /coop promise lists those that stand.")
}

// Promise makes a promise of the co-op. A steward's deed.
func (r *Register) Promise(ctx context.Context, actor Actor, p Promise) (made Promise, err error) {
	return made, r.act(ctx, actor, func(a *act) error {
		if err := a.promising(ctx, p); err != nil {
			return err
		}
		id, err := scanID(a.QueryRowContext(ctx, insertPromise, a.by.Coop, day(p.Week.Monday()), p.Stems, ref(p.Variety), p.Colour, p.Season, p.Form,
			p.Buyer, a.by.ID, instant(a.at)))
		if err != nil {
			return fmt.Errorf("promising: %w", err)
		}
		made, err = promiseByID(ctx, a.Tx, id)
		return err
	})
}

func promiseByID(ctx context.Context, tx *sql.Tx, id int64) (Promise, error) {
	return one(missingPromise(), tx.QueryRowContext(ctx, selectPromise, id), scanPromise)
}

// promising refuses what cannot be promised, and whoever may not.
func (a *act) promising(ctx context.Context, p Promise) error {
	if err := a.steward("promise for the co-op"); err != nil {
		return err
	}
	switch {
	case p.Stems < 1:
		return fault.New(fault.Unclear, "How many stems are promised? Give 1 or more.")
	case p.Week.IsZero():
		return fault.New(fault.Unclear, "For which week is it promised? Give a day of it.")
	case p.Week.Monday().Add(6) < a.today:
		return fault.New(fault.Unclear, "The week of %s is over. Give a day of this week or a later one.", p.Week.Monday().Long())
	case p.Variety == 0:
		return nil
	case p.Colour != "" || p.Season != variety.AnySeason || p.Form != variety.AnyForm:
		return fault.New(fault.Unclear, "A variety has its colour, season and form. Promise the variety, or any that is like those, and leave the other out.")
	}
	_, err := a.variety(ctx, p.Variety)
	return err
}

// ChangePromise replaces what was promised under an ID, and takes it up again where it was dropped. A steward's deed.
func (r *Register) ChangePromise(ctx context.Context, actor Actor, p Promise) (changed Promise, err error) {
	return changed, r.act(ctx, actor, func(a *act) error {
		if _, err := a.ownPromise(ctx, p.ID); err != nil {
			return err
		}
		if err := a.promising(ctx, p); err != nil {
			return err
		}
		p.Dropped = 0
		changed, err = a.storePromise(ctx, p)
		return err
	})
}

// DropPromise gives a promise up; ChangePromise takes it up again. A steward's deed.
func (r *Register) DropPromise(ctx context.Context, actor Actor, id int64) (dropped Promise, err error) {
	return dropped, r.act(ctx, actor, func(a *act) error {
		p, err := a.ownPromise(ctx, id)
		if err != nil {
			return err
		}
		if err := a.steward("drop a promise of the co-op"); err != nil {
			return err
		}
		if !p.Dropped.IsZero() {
			return fault.New(fault.Taken, "Promise %d was dropped on %s already. /coop promise lists those that stand.", p.Number, p.Dropped.Long())
		}
		p.Dropped = a.today
		dropped, err = a.storePromise(ctx, p)
		return err
	})
}

func (a *act) ownPromise(ctx context.Context, id int64) (Promise, error) {
	p, err := promiseByID(ctx, a.Tx, id)
	if err == nil && p.Coop != a.by.Coop {
		return Promise{}, missingPromise()
	}
	return p, err
}

func (a *act) storePromise(ctx context.Context, p Promise) (Promise, error) {
	err := exec(ctx, a.Tx, updatePromise, p.ID, day(p.Week.Monday()), p.Stems, ref(p.Variety), p.Colour, p.Season, p.Form, p.Buyer, day(p.Dropped))
	if err != nil {
		return p, fmt.Errorf("changing a promise: %w", err)
	}
	return promiseByID(ctx, a.Tx, p.ID)
}

// Promises gives the co-op's promises that stand for the weeks from one day to another, by week.
func (r *Register) Promises(ctx context.Context, coop int64, from, to calendar.Day) (all []Promise, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanPromise, selectPromisesBetween, coop, day(from.Monday()), day(to))
		return err
	})
	return all, err
}

// PromiseNumbered gives the co-op's promise of that number, dropped or not.
func (r *Register) PromiseNumbered(ctx context.Context, coop int64, number int) (p Promise, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		p, err = one(missingPromise(), tx.QueryRowContext(ctx, selectPromiseNumbered, coop, number), scanPromise)
		return err
	})
	return p, err
}
