package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
)

// Tiding is something to be told at once because of a deed. It holds what it is about and no words: those are found when
// it is told, so that they say how things stand then.
type Tiding struct {
	ID      int64
	Coop    int64
	Member  int64 // whom it is told; 0 for the group
	Kind    TidingKind
	Subject int64        // the row it is about, in the table that its kind names
	On      calendar.Day // the day of the deed
	At      time.Time    // when it was recorded
}

// TidingKind is what a tiding is about. Its text is stored and never changes.
type TidingKind string

const (
	insertTiding   = `INSERT INTO tiding (coop, member, kind, subject, day, at) VALUES ($1, $2, $3, $4, $5, $6)`
	selectWaiting  = `SELECT id, coop, member, kind, subject, day, at FROM tiding WHERE taken = 0 ORDER BY id LIMIT $1`
	markTaken      = `UPDATE tiding SET taken = $2 WHERE id = $1 AND taken = 0`
	selectOfMember = `SELECT id, coop, member, kind, subject, day, at FROM tiding WHERE member = $1 ORDER BY id`
)

// tell keeps a tiding in the transaction of the deed it comes from: it is told if and only if the deed stands.
func (a *act) tell(ctx context.Context, member int64, kind TidingKind, subject int64) error {
	err := exec(ctx, a.Tx, insertTiding, a.own.Coop, ref(member), kind, subject, day(a.today), instant(a.at))
	if err != nil {
		return fmt.Errorf("keeping a tiding: %w", err)
	}
	return nil
}

// Tidings gives those that nobody took yet, the oldest first, at most so many.
func (r *Register) Tidings(ctx context.Context, limit int) (waiting []Tiding, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		waiting, err = list(ctx, tx, scanTiding, selectWaiting, limit)
		return err
	})
	return waiting, err
}

// TakeTiding marks a tiding as taken and enqueues what comes of it, both in one transaction. One that is taken already
// is not enqueued again.
func (r *Register) TakeTiding(ctx context.Context, id int64, at time.Time, enqueue func(context.Context, *sql.Tx) error) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		done, err := tx.ExecContext(ctx, markTaken, id, instant(at))
		if err != nil {
			return fmt.Errorf("taking a tiding: %w", err)
		}
		if n, err := done.RowsAffected(); err != nil || n == 0 {
			return err
		}
		return enqueue(ctx, tx)
	})
}

func scanTiding(row scanner) (t Tiding, err error) {
	err = row.Scan(&t.ID, &t.Coop, (*ref)(&t.Member), &t.Kind, &t.Subject, (*day)(&t.On), (*instant)(&t.At))
	return t, err
}
