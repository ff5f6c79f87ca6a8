package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Listing is a list of plants that a member brought. It waits, as it came, until they have seen what was understood of
// it and enter it.
type Listing struct {
	ID      int64
	Own     int64 // whose plants they are
	Name    string
	Data    []byte `json:"-"` // empty once it is entered
	At      time.Time
	Entered time.Time // zero while it waits
}

// ListingWaits is how long a list waits at least. A member has one waiting: a new one takes its place.
const ListingWaits = 30 * 24 * time.Hour

const (
	listingColumns  = `id, own, name, data, at, entered`
	insertListing   = `INSERT INTO listing (coop, member, own, name, data, at) VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`
	selectListing   = `SELECT ` + listingColumns + ` FROM listing WHERE id = $1 AND member = $2`
	selectListings  = `SELECT ` + listingColumns + ` FROM listing WHERE member = $1 ORDER BY id`
	deleteWaiting   = `DELETE FROM listing WHERE member = $1 AND entered = 0`
	deleteForgotten = `DELETE FROM listing WHERE entered = 0 AND at <= $1`
	markEntered     = `UPDATE listing SET data = x'', entered = $2 WHERE id = $1`
)

func scanListing(row scanner) (l Listing, err error) {
	err = row.Scan(&l.ID, &l.Own, &l.Name, &l.Data, (*instant)(&l.At), (*instant)(&l.Entered))
	return l, err
}

// KeepListing keeps a list for its member to enter.
func (r *Register) KeepListing(ctx context.Context, actor Actor, name string, data []byte) (id int64, err error) {
	return id, r.act(ctx, actor, func(a *act) error {
		if err := exec(ctx, a.Tx, deleteForgotten, instant(a.at.Add(-ListingWaits))); err != nil {
			return fmt.Errorf("forgetting lists: %w", err)
		}
		if err := exec(ctx, a.Tx, deleteWaiting, a.by.ID); err != nil {
			return fmt.Errorf("replacing a list: %w", err)
		}
		if id, err = scanID(a.QueryRowContext(ctx, insertListing, a.own.Coop, a.by.ID, a.own.ID, name, data, instant(a.at))); err != nil {
			return fmt.Errorf("keeping a list: %w", err)
		}
		return nil
	})
}

// Listing gives a list to the member who brought it, and to nobody else.
func (r *Register) Listing(ctx context.Context, member, id int64) (l Listing, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		l, err = one(noListing(), tx.QueryRowContext(ctx, selectListing, id, member), scanListing)
		return err
	})
	return l, err
}

func noListing() *fault.Error {
	return fault.New(fault.Missing, "That list waits no more, or somebody else brought it. Send the file again with /stock add file:.")
}

// ListingRow is a row of a list as it is to be entered.
type ListingRow struct {
	Line  int
	Key   string // what the row says: the same is not entered twice while it stands
	Stock Stock
	After int // 1 and up: the row in the same list, counted so, whose batch these plants came from
}

// EnteredRow is what became of a row: Batch is that which was made, zero where the row stood already.
type EnteredRow struct {
	Line  int
	Batch Batch
}

const (
	upsertRow = `
INSERT INTO listing_row (member, key, event, listing) VALUES ($1, $2, $3, $4)
ON CONFLICT (member, key) DO UPDATE SET event = excluded.event, listing = excluded.listing`
	rowStands = `SELECT count(*) FROM listing_row r JOIN event e ON e.id = r.event WHERE r.member = $1 AND r.key = $2 AND e.undone_at = 0`
)

// RowsStanding tells which rows, by their keys, were entered for a member and stand.
func (r *Register) RowsStanding(ctx context.Context, member int64, keys []string) (standing map[string]bool, err error) {
	standing = map[string]bool{}
	err = r.read(ctx, func(tx *sql.Tx) error {
		for _, key := range keys {
			n, err := scanID(tx.QueryRowContext(ctx, rowStands, member, key))
			if err != nil {
				return err
			}
			standing[key] = n > 0
		}
		return nil
	})
	return standing, err
}

// EnterListing enters the rows of a list that waits, all or none. Of a long one, progress is told how many rows are done.
func (r *Register) EnterListing(ctx context.Context, actor Actor, id int64, rows []ListingRow, progress func(done int)) (entered []EnteredRow, moved []Move, err error) {
	return entered, moved, r.act(ctx, actor, func(a *act) error {
		l, err := one(noListing(), a.QueryRowContext(ctx, selectListing, id, a.by.ID), scanListing)
		if err != nil {
			return err
		}
		if !l.Entered.IsZero() {
			return fault.New(fault.Taken, "That list was entered on %s already. /stock list shows what you have.", calendar.DayAt(l.Entered.In(a.at.Location())).Long())
		}
		if l.Own != a.own.ID {
			return noListing()
		}
		var out Outcome
		entered = make([]EnteredRow, len(rows))
		for i, row := range rows {
			if row.After > 0 {
				row.Stock.Parent = entered[row.After-1].Batch.ID
			}
			if entered[i], err = a.enterRow(ctx, l.ID, row, &out); err != nil {
				return inLine(row.Line, err)
			}
			if done := i + 1; progress != nil && done%1000 == 0 {
				progress(done)
			}
		}
		if err := a.settleRows(ctx, rows, &out); err != nil {
			return err
		}
		moved = out.Moved
		return exec(ctx, a.Tx, markEntered, l.ID, instant(a.at))
	})
}

// ListingEntered marks a list as entered whose lines were entered as requests of their own. Call it together with them.
func (r *Register) ListingEntered(ctx context.Context, actor Actor, id int64) error {
	return r.act(ctx, actor, func(a *act) error { return exec(ctx, a.Tx, markEntered, id, instant(a.at)) })
}

func (a *act) enterRow(ctx context.Context, listing int64, row ListingRow, out *Outcome) (EnteredRow, error) {
	entered := EnteredRow{Line: row.Line}
	n, err := scanID(a.QueryRowContext(ctx, rowStands, a.own.ID, row.Key))
	if err != nil || n > 0 {
		return entered, err
	}
	if entered.Batch, err = a.add(ctx, row.Stock, out); err != nil {
		return entered, err
	}
	return entered, exec(ctx, a.Tx, upsertRow, a.own.ID, row.Key, out.Event.ID, listing)
}

// settleRows brings the plans of each variety in line once, however many rows there are of it.
func (a *act) settleRows(ctx context.Context, rows []ListingRow, out *Outcome) error {
	type concern struct{ variety, plan int64 }
	seen := map[concern]bool{}
	for _, row := range rows {
		c := concern{row.Stock.Variety, row.Stock.Plan}
		if seen[c] {
			continue
		}
		seen[c] = true
		if err := a.settle(ctx, c.variety, c.plan, out); err != nil {
			return err
		}
	}
	return nil
}

// inLine names the line in which a refused row stands.
func inLine(line int, err error) error {
	if refusal, ok := errors.AsType[*fault.Error](err); ok {
		return fault.New(refusal.Kind, "Line %d: %s Nothing was entered.", line, refusal.Text).Because(err)
	}
	return err
}

const selectRowEvents = selectEvents + `WHERE e.id IN (SELECT event FROM listing_row WHERE listing = $1 AND member = $2) AND e.undone_at = 0 ORDER BY e.id DESC`

// TakeBackListing undoes what was entered from a list, but for batches on which something later rests; it gives how many were
// taken back and those that stay.
func (r *Register) TakeBackListing(ctx context.Context, actor Actor, id int64) (taken int, stay []Event, moved []Move, err error) {
	return taken, stay, moved, r.act(ctx, actor, func(a *act) error {
		l, err := one(noListing(), a.QueryRowContext(ctx, selectListing, id, a.by.ID), scanListing)
		if err != nil {
			return err
		}
		if l.Own != a.own.ID {
			return noListing()
		}
		events, err := list(ctx, a.Tx, scanEvent, selectRowEvents, id, l.Own)
		if err != nil {
			return err
		}
		var out Outcome
		var rows []ListingRow
		for _, e := range events {
			err := a.undoable(ctx, e)
			if fault.KindOf(err) == fault.Taken {
				stay = append(stay, e)
				continue
			}
			if err != nil {
				return err
			}
			if err := exec(ctx, a.Tx, markUndone, e.ID, a.at.Unix(), a.by.ID, "the list was taken back"); err != nil {
				return fmt.Errorf("taking a list back: %w", err)
			}
			if err := a.takeBack(ctx, e, &out); err != nil {
				return err
			}
			taken, rows = taken+1, append(rows, ListingRow{Stock: Stock{Variety: e.Variety, Plan: e.Plan}})
		}
		err = a.settleRows(ctx, rows, &out)
		moved = out.Moved
		return err
	})
}
