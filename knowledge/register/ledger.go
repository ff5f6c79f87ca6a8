package register

import (
	"context"
	"database/sql"
)

// Ledger is what a member has given and received by swaps, in units, and what is still to come.
type Ledger struct {
	Member              int64
	Given, Received     int
	ToGive, ToReceive   int
	Swaps               int // handed over, given or received
	CoopGiven, CoopOpen int // the sums of the whole co-op: handed over, and still to come
}

const (
	memberTally = `
SELECT COALESCE(sum(CASE WHEN state = 'received' THEN received ELSE 0 END), 0),
       COALESCE(sum(CASE state WHEN 'agreed' THEN number WHEN 'given' THEN given ELSE 0 END), 0),
       COALESCE(sum(CASE WHEN state = 'received' THEN 1 ELSE 0 END), 0) FROM swap WHERE `
	givenTally    = memberTally + `giver = $1`
	receivedTally = memberTally + `receiver = $1`
	coopTally     = memberTally + `coop = $1`
)

// Ledger gives what a member has given and received, and the sums of the co-op.
func (r *Register) Ledger(ctx context.Context, m Member) (l Ledger, err error) {
	l.Member = m.ID
	err = r.read(ctx, func(tx *sql.Tx) error {
		var gave, got, all int
		if err := tx.QueryRowContext(ctx, givenTally, m.ID).Scan(&l.Given, &l.ToGive, &gave); err != nil {
			return err
		}
		if err := tx.QueryRowContext(ctx, receivedTally, m.ID).Scan(&l.Received, &l.ToReceive, &got); err != nil {
			return err
		}
		l.Swaps = gave + got
		return tx.QueryRowContext(ctx, coopTally, m.Coop).Scan(&l.CoopGiven, &l.CoopOpen, &all)
	})
	return l, err
}
