package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
)

// Telling is what became of one notice. TellingKept and TellingGivenUp are the end of it.
type Telling struct {
	Key     string
	Coop    int64
	Member  int64 // 0: the group
	Kind    string
	Day     calendar.Day
	Doubt   bool      // it may have gone although no receipt came back
	Refused time.Time // when its place was first found gone
	End     TellingEnd
	Receipt string
	At      time.Time // of the end
	Said    []Word    `json:"-"` // what it told of jobs, kept once it is received; not read back
}

// TellingEnd is how the telling of a notice ended; empty while it has not. Its text is stored and never changes.
type TellingEnd string

// The ends.
const (
	TellingKept    TellingEnd = "received"
	TellingGivenUp TellingEnd = "given up" // it could not be told, and no longer will be
)

const (
	selectTellings   = `SELECT key, coop, member, kind, day, doubt, refused, ended, receipt, at FROM telling `
	selectTelling    = selectTellings + `WHERE key = $1`
	selectOwnTold    = selectTellings + `WHERE member = $1 ORDER BY at, key`
	selectLatestTold = selectTellings + `WHERE coop = $1 AND COALESCE(member, 0) = $2 AND at > 0 ORDER BY at DESC LIMIT 1`
	upsertTelling    = `
INSERT INTO telling (key, coop, member, kind, day, doubt, refused, ended, receipt, at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
ON CONFLICT (key) DO UPDATE SET doubt = excluded.doubt, refused = excluded.refused, ended = excluded.ended,
       receipt = excluded.receipt, at = excluded.at WHERE telling.ended = ''`
	advanceSaid   = `UPDATE stroke SET said = $4 WHERE coop = $1 AND COALESCE(member, 0) = $2 AND kind = $3 AND said < $4`
	forgetTelling = `DELETE FROM telling WHERE at > 0 AND at < $1`
)

func scanTelling(row scanner) (t Telling, err error) {
	err = row.Scan(&t.Key, &t.Coop, (*ref)(&t.Member), &t.Kind, (*day)(&t.Day), &t.Doubt, (*instant)(&t.Refused), &t.End, &t.Receipt,
		(*instant)(&t.At))
	return t, err
}

// Telling gives what became of a notice; the zero Telling where nothing did yet.
func (r *Register) Telling(ctx context.Context, key string) (Telling, error) {
	return r.telling(ctx, selectTelling, key)
}

// LatestTelling gives what became of the last notice to an addressee; the zero Telling where there was none.
func (r *Register) LatestTelling(ctx context.Context, coop, member int64) (Telling, error) {
	return r.telling(ctx, selectLatestTold, coop, member)
}

func (r *Register) telling(ctx context.Context, query string, args ...any) (t Telling, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		found, err := list(ctx, tx, scanTelling, query, args...)
		if len(found) > 0 {
			t = found[0]
		}
		return err
	})
	return t, err
}

// KeepTelling keeps what became of notices, each but the first time it ended, and does what goes with it in the same
// transaction. What was told is said up to its day.
func (r *Register) KeepTelling(ctx context.Context, at time.Time, also func(context.Context, *sql.Tx) error, tellings ...Telling) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		for _, t := range tellings {
			if t.End != "" {
				t.At = at
			}
			err := exec(ctx, tx, upsertTelling, t.Key, t.Coop, ref(t.Member), t.Kind, day(t.Day), t.Doubt, instant(t.Refused), t.End, t.Receipt,
				instant(t.At))
			if err != nil {
				return fmt.Errorf("keeping a receipt: %w", err)
			}
			if t.End != TellingKept {
				continue
			}
			if err := exec(ctx, tx, advanceSaid, t.Coop, t.Member, t.Kind, day(t.Day)); err != nil {
				return fmt.Errorf("keeping a receipt: %w", err)
			}
			if err := keepSaid(ctx, tx, t.Member, t.Said, at); err != nil {
				return err
			}
		}
		return also(ctx, tx)
	})
}

// Silent keeps that there was nothing to tell on a day, and does what goes with it in the same transaction.
func (r *Register) Silent(ctx context.Context, at time.Time, coop, member int64, kind StrokeKind, on calendar.Day, also func(context.Context, *sql.Tx) error) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, advanceSaid, coop, member, kind, day(on)); err != nil {
			return fmt.Errorf("keeping that nothing was told: %w", err)
		}
		return also(ctx, tx)
	})
}

// ForgetTellings removes what became of notices before an instant.
func (r *Register) ForgetTellings(ctx context.Context, at, before time.Time) error {
	return r.write(ctx, at, func(tx *sql.Tx) error { return exec(ctx, tx, forgetTelling, instant(before)) })
}

const (
	markLooked   = `UPDATE clock SET looked = $1 WHERE restored > 0 AND looked = 0`
	selectLooked = `SELECT looked FROM clock`
)

// Restored gives the instant until which notices may have been told that this register knows nothing of, because a
// backup was put in its place: the first instant that was asked with after that. The zero time where none was.
func (r *Register) Restored(ctx context.Context, at time.Time) (until time.Time, err error) {
	err = within(ctx, r.writer, nil, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, markLooked, instant(at)); err != nil {
			return err
		}
		return tx.QueryRowContext(ctx, selectLooked).Scan((*instant)(&until))
	})
	return until, told(err)
}
