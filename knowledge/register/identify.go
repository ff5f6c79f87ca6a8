package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// Identifies is how often we said to the platform who we are: Count times since Since, the last time at Last.
type Identifies struct {
	Since, Last time.Time
	Count       int
}

const (
	selectIdentify = `SELECT since, last, count FROM identify WHERE id = 1`
	upsertIdentify = `
INSERT INTO identify (id, since, last, count) VALUES (1, $1, $2, $3)
ON CONFLICT (id) DO UPDATE SET since = excluded.since, last = excluded.last, count = excluded.count`
)

// Identifies gives what was kept last.
func (r *Register) Identifies(ctx context.Context) (i Identifies, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, selectIdentify).Scan((*instant)(&i.Since), (*instant)(&i.Last), &i.Count)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return i, err
}

// KeepIdentifies keeps that.
func (r *Register) KeepIdentifies(ctx context.Context, i Identifies) error {
	return r.write(ctx, i.Last, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, upsertIdentify, instant(i.Since), instant(i.Last), i.Count); err != nil {
			return fmt.Errorf("keeping the count of identifications: %w", err)
		}
		return nil
	})
}
