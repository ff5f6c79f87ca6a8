package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// Server is a chat server that we were asked into: the home of one co-op, whether or not that has begun.
type Server struct {
	Key, Name string
	Seen      time.Time // when we first came
	Greeted   time.Time // when it was told what we are; zero before
	Gone      time.Time // when we were removed; zero while we are there
	Lacking   int64     // the rights that its stewards were told we lack, as the platform counts them
}

const (
	serverColumns = `key, name, seen, greeted, gone, lacking`
	selectServer  = `SELECT ` + serverColumns + ` FROM server WHERE key = $1`
	selectServers = `SELECT ` + serverColumns + ` FROM server WHERE gone = 0 ORDER BY key`
	upsertServer  = `
INSERT INTO server (key, name, seen) VALUES ($1, $2, $3)
ON CONFLICT (key) DO UPDATE SET name = excluded.name, gone = 0
RETURNING ` + serverColumns
	markGreeted = `UPDATE server SET greeted = $2 WHERE key = $1 AND greeted = 0`
	markGone    = `UPDATE server SET gone = $2 WHERE key = $1 AND gone = 0`
	markLacking = `UPDATE server SET lacking = $2 WHERE key = $1 AND lacking <> $2`
)

func scanServer(row scanner) (s Server, err error) {
	err = row.Scan(&s.Key, &s.Name, (*instant)(&s.Seen), (*instant)(&s.Greeted), (*instant)(&s.Gone), &s.Lacking)
	return s, err
}

// Arrive records that we are in a server, for the first time or again, and gives what was known of it.
func (r *Register) Arrive(ctx context.Context, key, name string, at time.Time) (s Server, err error) {
	s, err = r.Server(ctx, key)
	if err != nil || s.Key != "" && s.Name == name && s.Gone.IsZero() {
		return s, err
	}
	err = r.write(ctx, at, func(tx *sql.Tx) error {
		if s, err = scanServer(tx.QueryRowContext(ctx, upsertServer, key, name, instant(at))); err != nil {
			return fmt.Errorf("joining a server: %w", err)
		}
		return nil
	})
	return s, err
}

// Server gives a server, the zero Server where none is known by that key.
func (r *Register) Server(ctx context.Context, key string) (s Server, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		s, err = scanServer(tx.QueryRowContext(ctx, selectServer, key))
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return s, err
}

// Servers gives those that we are in.
func (r *Register) Servers(ctx context.Context) (all []Server, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanServer, selectServers); return err })
	return all, err
}

// Greeted records that a server was told what we are.
func (r *Register) Greeted(ctx context.Context, key string, at time.Time) error {
	return r.mark(ctx, at, markGreeted, key, instant(at))
}

// Removed records that we were removed from a server. What is kept of its co-op waits for Forget.
func (r *Register) Removed(ctx context.Context, key string, at time.Time) error {
	return r.mark(ctx, at, markGone, key, instant(at))
}

// Lacking records which rights the stewards of a server were told we lack.
func (r *Register) Lacking(ctx context.Context, key string, rights int64, at time.Time) error {
	if s, err := r.Server(ctx, key); err != nil || s.Lacking == rights {
		return err
	}
	return r.mark(ctx, at, markLacking, key, rights)
}

func (r *Register) mark(ctx context.Context, at time.Time, query string, args ...any) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, query, args...); err != nil {
			return fmt.Errorf("marking a server: %w", err)
		}
		return nil
	})
}
