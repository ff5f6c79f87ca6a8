package register

import (
	"context"
	"database/sql"
)

const (
	// here holds for a member who is not known to have left the server.
	here          = `NOT EXISTS (SELECT 1 FROM reach r WHERE r.away > 0 AND r.member = `
	selectTraders = `
SELECT m.key FROM member m
WHERE m.coop = $1 AND ` + here + `m.id) AND (EXISTS (SELECT 1 FROM offer o WHERE o.member = m.id AND o.ended = '')
   OR EXISTS (SELECT 1 FROM want w WHERE w.member = m.id AND w.ended = ''))
ORDER BY m.id`
)

// Traders gives the keys of the members of a co-op with an open offer or want, without those known to have left its
// server: before a swap is proposed or agreed they are looked for there.
func (r *Register) Traders(ctx context.Context, coop int64) (keys []string, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { keys, err = list(ctx, tx, scanText, selectTraders, coop); return err })
	return keys, err
}
