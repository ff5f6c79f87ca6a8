package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

const (
	selectIdentify = `SELECT since, count FROM identify WHERE id = 1`
	upsertIdentify = `
INSERT INTO identify (id, since, count) VALUES (1, $1, $2)
ON CONFLICT (id) DO UPDATE SET since = excluded.since, count = excluded.count`
)

// Identifies gives how often we said to the platform who we are, and since when that was counted.
func (r *Register) Identifies(ctx context.Context) (since time.Time, count int, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, selectIdentify).Scan((*instant)(&since), &count)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return since, count, err
}

// KeepIdentifies keeps that count.
func (r *Register) KeepIdentifies(ctx context.Context, since time.Time, count int, at time.Time) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, upsertIdentify, instant(since), count); err != nil {
			return fmt.Errorf("keeping the count of identifications: %w", err)
		}
		return nil
	})
}
