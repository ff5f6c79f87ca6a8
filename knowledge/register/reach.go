package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// Reach tells whether a member can be told anything.
type Reach struct {
	Closed time.Time // since when they take no direct messages; zero where they do
	Away   time.Time // since when they are known to have left the co-op's server; zero where they are there
}

const (
	selectReach     = `SELECT closed, away FROM reach WHERE member = $1`
	selectUnreached = `
SELECT m.id, r.closed, r.away FROM coop c JOIN member m ON m.coop = c.id JOIN reach r ON r.member = m.id WHERE c.key = $1 AND m.key = $2`
	upsertClosed = `INSERT INTO reach (member, closed) VALUES ($1, $2) ON CONFLICT (member) DO UPDATE SET closed = excluded.closed WHERE closed = 0`
	upsertAway   = `INSERT INTO reach (member, away) VALUES ($1, $2) ON CONFLICT (member) DO UPDATE SET away = excluded.away WHERE away = 0`
	deleteReach  = `DELETE FROM reach WHERE member = $1`
)

func reachOf(ctx context.Context, tx *sql.Tx, member int64) (reach Reach, err error) {
	err = tx.QueryRowContext(ctx, selectReach, member).Scan((*instant)(&reach.Closed), (*instant)(&reach.Away))
	if errors.Is(err, sql.ErrNoRows) {
		return Reach{}, nil
	}
	return reach, err
}

// Reach gives whether a member can be told anything.
func (r *Register) Reach(ctx context.Context, member int64) (reach Reach, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { reach, err = reachOf(ctx, tx, member); return err })
	return reach, err
}

// Unreached gives the member of those keys where something is in the way of telling them; member is 0 where nothing is,
// or there is no such member.
func (r *Register) Unreached(ctx context.Context, coopKey, key string) (member int64, reach Reach, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, selectUnreached, coopKey, key).Scan(&member, (*instant)(&reach.Closed), (*instant)(&reach.Away))
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return member, reach, err
}

// Closed records that a member takes no direct messages: reminders pause until Reached.
func (r *Register) Closed(ctx context.Context, member int64, at time.Time) error {
	return r.reach(ctx, at, upsertClosed, member, instant(at))
}

// Away records that a member has left the co-op's server.
func (r *Register) Away(ctx context.Context, member int64, at time.Time) error {
	return r.reach(ctx, at, upsertAway, member, instant(at))
}

// Reached records that a member can be told things again.
func (r *Register) Reached(ctx context.Context, member int64, at time.Time) error {
	return r.reach(ctx, at, deleteReach, member)
}

func (r *Register) reach(ctx context.Context, at time.Time, query string, args ...any) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, query, args...); err != nil {
			return fmt.Errorf("keeping who can be reached: %w", err)
		}
		return nil
	})
}

const selectHomes = `
SELECT c.key, c.name FROM member m JOIN coop c ON c.id = m.coop JOIN server s ON s.key = c.key AND s.gone = 0
LEFT JOIN reach r ON r.member = m.id
WHERE m.key = $1 AND COALESCE(r.away, 0) = 0 ORDER BY c.id`

// Home is a co-op as a person outside of its server names it.
type Home struct{ Key, Name string }

// Homes gives the co-ops in whose servers a person is a member, as far as is known.
func (r *Register) Homes(ctx context.Context, key string) (all []Home, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, func(row scanner) (h Home, err error) {
			err = row.Scan(&h.Key, &h.Name)
			return h, err
		}, selectHomes, key)
		return err
	})
	return all, err
}
