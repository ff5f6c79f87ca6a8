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

// What came through is what a step took on, and what is left at the stage of a batch of which some died there: it was
// counted too. What did not come through was lost at the stage before the step.
const (
	selectRates = `
SELECT COALESCE(sum(CASE WHEN stage = 'boxed' AND step = 'wake' THEN count ELSE 0 END), 0),
       COALESCE(sum(CASE WHEN stage = 'boxed' THEN lost ELSE 0 END), 0),
       COALESCE(sum(CASE WHEN stage = 'struck' AND step = 'pot' THEN count ELSE 0 END), 0),
       COALESCE(sum(CASE WHEN stage = 'struck' THEN lost ELSE 0 END), 0)
FROM event b
WHERE stage IN ('boxed', 'struck') AND undone_at = 0 AND `

	selectLeft = `
SELECT COALESCE(sum(CASE WHEN b.stage = 'boxed' THEN b.count ELSE 0 END), 0),
       COALESCE(sum(CASE WHEN b.stage = 'struck' THEN b.count ELSE 0 END), 0)
FROM batch b
WHERE b.ended = '' AND b.stage IN ('boxed', 'struck')
  AND EXISTS (SELECT 1 FROM touch t JOIN event e ON e.id = t.event
              WHERE t.batch = b.id AND t.deed = 'lost' AND t.stage = b.stage AND e.undone_at = 0) AND `
)

// about is the condition for a co-op, a variety and a member, each in words that an index serves.
func about(variety, member int64) string {
	where := `b.coop = $1`
	if variety == 0 {
		where += ` AND $2 = 0`
	} else {
		where += ` AND b.variety = $2`
	}
	if member == 0 {
		return where + ` AND $3 = 0`
	}
	return where + ` AND b.member = $3`
}

// Rates gives the counts of a co-op; of one variety and of one member, where those are not 0.
func (r *Register) Rates(ctx context.Context, coop, variety, member int64) (c Counts, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		var stools, cuttings int // lost
		err := tx.QueryRowContext(ctx, selectRates+about(variety, member), coop, variety, member).Scan(&c.StoolsWoken, &stools, &c.CuttingsRooted, &cuttings)
		if err != nil {
			return err
		}
		var boxed, struck int // left
		err = tx.QueryRowContext(ctx, selectLeft+about(variety, member), coop, variety, member).Scan(&boxed, &struck)
		c.StoolsWoken, c.CuttingsRooted = c.StoolsWoken+boxed, c.CuttingsRooted+struck
		c.StoolsBoxed, c.CuttingsStruck = c.StoolsWoken+stools, c.CuttingsRooted+cuttings
		return err
	})
	return c, err
}
