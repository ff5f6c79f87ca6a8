package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// Kept is a request that was offered and did not fit where it was. Co-op and asker stand as the platform names them.
type Kept struct {
	Key     string
	Coop    string `json:"-"` // "" where it is asked for
	Who     string `json:"-"` // the one who may ask it; "" for all
	Request string
	At      time.Time // when it was offered last
}

// KeptFor is how long a request is kept.
const KeptFor = 400 * 24 * time.Hour

const (
	keptColumns = `key, coop, who, request, at`
	upsertKept  = `
INSERT INTO kept_request (` + keptColumns + `) VALUES ($1, $2, $3, $4, $5)
ON CONFLICT (coop, who, request) DO UPDATE SET at = excluded.at
RETURNING key`
	selectKept      = `SELECT ` + keptColumns + ` FROM kept_request WHERE key = $1 AND at > $2`
	selectKeptOf    = `SELECT ` + keptColumns + ` FROM kept_request WHERE coop = $1 AND who = $2 ORDER BY at, key`
	deleteKept      = `DELETE FROM kept_request WHERE at <= $1`
	deleteKeptOf    = `DELETE FROM kept_request WHERE coop = (SELECT key FROM coop WHERE id = $2) AND who = $1`
	deleteKeptThere = `DELETE FROM kept_request WHERE coop = $1`
)

func scanKept(row scanner) (k Kept, err error) {
	err = row.Scan(&k.Key, &k.Coop, &k.Who, &k.Request, (*instant)(&k.At))
	return k, err
}

// KeepRequest keeps a request under its key, or under the one by which the same request is kept already, and gives that.
func (r *Register) KeepRequest(ctx context.Context, k Kept) (key string, err error) {
	err = r.write(ctx, k.At, func(tx *sql.Tx) error {
		if key, err = scanText(tx.QueryRowContext(ctx, upsertKept, k.Key, k.Coop, k.Who, k.Request, instant(k.At))); err != nil {
			return fmt.Errorf("keeping a request: %w", err)
		}
		return nil
	})
	return key, err
}

// KeptRequest gives the request kept under a key, if its time is not over.
func (r *Register) KeptRequest(ctx context.Context, key string, at time.Time) (k Kept, found bool, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		k, err = scanKept(tx.QueryRowContext(ctx, selectKept, key, instant(at.Add(-KeptFor))))
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		found = err == nil
		return err
	})
	return k, found, err
}
