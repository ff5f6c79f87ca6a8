package register

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"time"
)

// WaitsFor is how long the register of a co-op is kept after we were removed from its server, in case we are asked back.
const WaitsFor = 30 * 24 * time.Hour

const (
	deferKeys     = `PRAGMA defer_foreign_keys = 1` // the order of deleting does not matter; the end does
	selectGone    = `SELECT ` + serverColumns + ` FROM server WHERE gone > 0 AND gone <= $1 ORDER BY key`
	deleteServer  = `DELETE FROM server WHERE key = $1`
	selectHolders = `
SELECT m.name, f."from" FROM sqlite_master m JOIN pragma_foreign_key_list(m.name) f
JOIN pragma_table_info(m.name) c ON c.name = f."from" AND (c."notnull" = 1 OR c.pk > 0)
WHERE m.type = 'table' AND f."table" = $1 ORDER BY m.name, c.cid`
)

// Forget removes what has waited long enough: co-ops whose servers removed us, with all that is theirs, and requests
// that were kept. It gives the servers that are known no more.
func (r *Register) Forget(ctx context.Context, at time.Time) (gone []Server, err error) {
	err = r.write(ctx, at, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, deleteKept, instant(at.Add(-KeptFor))); err != nil {
			return fmt.Errorf("forgetting requests: %w", err)
		}
		if gone, err = list(ctx, tx, scanServer, selectGone, instant(at.Add(-WaitsFor))); err != nil || len(gone) == 0 {
			return err
		}
		if err := exec(ctx, tx, deferKeys); err != nil {
			return err
		}
		for _, s := range gone {
			if err := forget(ctx, tx, s.Key); err != nil {
				return fmt.Errorf("forgetting a co-op: %w", err)
			}
		}
		return nil
	})
	return gone, err
}

func forget(ctx context.Context, tx *sql.Tx, key string) error {
	theirs, err := theirRows(ctx, tx)
	if err != nil {
		return err
	}
	for _, r := range slices.Backward(theirs) {
		if err := exec(ctx, tx, "DELETE FROM "+r.table+" WHERE "+r.where, key); err != nil {
			return err
		}
	}
	for _, query := range []string{deleteKeptThere, deleteServer} {
		if err := exec(ctx, tx, query, key); err != nil {
			return err
		}
	}
	return nil
}

// rows are those of a table that belong to the co-op whose key is $1.
type rows struct{ table, where string }

// theirRows finds, table by table, the rows that belong to a co-op, over columns that always name one. The tables
// themselves tell which those are, so that one added later is not left out.
func theirRows(ctx context.Context, tx *sql.Tx) ([]rows, error) {
	found, seen := []rows{{"coop", "key = $1"}}, map[string]bool{"coop": true}
	for i := 0; i < len(found); i++ {
		of := found[i]
		holders, err := list(ctx, tx, func(row scanner) (r rows, err error) {
			var column string
			err = row.Scan(&r.table, &column)
			r.where = fmt.Sprintf("%s IN (SELECT id FROM %s WHERE %s)", column, of.table, of.where)
			return r, err
		}, selectHolders, of.table)
		if err != nil {
			return nil, err
		}
		for _, r := range holders {
			if !seen[r.table] {
				seen[r.table], found = true, append(found, r)
			}
		}
	}
	return found, nil
}
