package register

import (
	"context"
	"database/sql"
)

// Counts are how many came through of how many, counted: what raising learns its rates from.
type Counts struct {
	StoolsBoxed, StoolsWoken       int
	CuttingsStruck, CuttingsRooted int
}

// What came through is what a step took on; what did not, what was lost at the stage before it.
const selectRates = `
SELECT COALESCE(sum(CASE WHEN stage = 'boxed' AND step = 'wake' THEN count ELSE 0 END), 0),
       COALESCE(sum(CASE WHEN stage = 'boxed' THEN lost ELSE 0 END), 0),
       COALESCE(sum(CASE WHEN stage = 'struck' AND step = 'pot' THEN count ELSE 0 END), 0),
       COALESCE(sum(CASE WHEN stage = 'struck' THEN lost ELSE 0 END), 0)
FROM event
WHERE coop = $1 AND ($2 = 0 OR variety = $2) AND ($3 = 0 OR member = $3) AND stage IN ('boxed', 'struck') AND undone_at = 0`

// Rates gives the counts of a co-op; of one variety and of one member, where those are not 0.
func (r *Register) Rates(ctx context.Context, coop, variety, member int64) (c Counts, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		var stools, cuttings int // lost
		err := tx.QueryRowContext(ctx, selectRates, coop, variety, member).Scan(&c.StoolsWoken, &stools, &c.CuttingsRooted, &cuttings)
		c.StoolsBoxed, c.CuttingsStruck = c.StoolsWoken+stools, c.CuttingsRooted+cuttings
		return err
	})
	return c, err
}
