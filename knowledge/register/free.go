package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/calendar"
)

// What swaps take up: all that is proposed, agreed, on its way or has changed hands.
const (
	takenNumber = `sum(CASE state WHEN 'received' THEN received WHEN 'given' THEN given ELSE number END)`
	takenStates = `state IN ('proposed', 'agreed', 'given', 'received')`
	takenOffer  = `SELECT COALESCE(` + takenNumber + `, 0), COALESCE(sum(received), 0) FROM swap WHERE offer = $1 AND ` + takenStates
	takenWant   = `SELECT COALESCE(` + takenNumber + `, 0), COALESCE(sum(received), 0) FROM swap WHERE want = $1 AND ` + takenStates
	freeOffer   = `UPDATE offer SET free = $2, ended = $3, ending = $4 WHERE id = $1`
	freeWant    = `UPDATE want SET free = $2, ended = $3, ending = $4 WHERE id = $1`

	// Received plants have left the batch's number; received shoots have not, and count while the plants stand as they do.
	takenPlants = `
SELECT COALESCE(sum(CASE state WHEN 'given' THEN given ELSE number END), 0) FROM swap
WHERE batch = $1 AND shoots = 0 AND state IN ('proposed', 'agreed', 'given')`
	takenShoots = `
SELECT COALESCE(` + takenNumber + `, 0) FROM swap
WHERE batch = $1 AND shoots = 1 AND ` + takenStates + ` AND (state <> 'received' OR received_on >= $2)`
	selectCounted = selectOffers + `WHERE o.batch = $1 AND (o.ended = '' OR o.ending = 'served') ORDER BY o.id`
)

// pool gives what a batch can still give, of its shoots or of its number, whichever offer it goes through.
func (a *act) pool(ctx context.Context, b Batch, v Variety, shoots bool) (left int, err error) {
	var taken int
	if shoots {
		err = a.QueryRowContext(ctx, takenShoots, b.ID, day(b.Since)).Scan(&taken)
	} else {
		err = a.QueryRowContext(ctx, takenPlants, b.ID).Scan(&taken)
	}
	return capacity(b, v.Variety, shoots) - taken, err
}

// InAll counts what offers give together: what a batch can still give counts once, through however many offers it goes.
func (r *Register) InAll(ctx context.Context, offers []Offer) (sum int, err error) {
	type source struct {
		batch  int64
		shoots bool
	}
	free, left := map[source]int{}, map[source]int{}
	return sum, r.read(ctx, func(tx *sql.Tx) error {
		a := &act{Tx: tx}
		for _, o := range offers {
			b, err := batchByID(ctx, tx, o.Batch)
			if err != nil {
				return err
			}
			from := source{o.Batch, shoots(b.Stage, o.Stock)}
			if _, counted := left[from]; !counted {
				v, err := varietyByID(ctx, tx, o.Variety)
				if err != nil {
					return err
				}
				if left[from], err = a.pool(ctx, b, v, from.shoots); err != nil {
					return err
				}
			}
			free[from] += o.Free
		}
		for from, n := range free {
			sum += max(0, min(n, left[from]))
		}
		return nil
	})
}

// recountBatch brings the free numbers of a batch's offers in line, and ends and reopens those that are served.
func (a *act) recountBatch(ctx context.Context, batch int64) error {
	offers, err := list(ctx, a.Tx, scanOffer, selectCounted, batch)
	if err != nil || len(offers) == 0 {
		return err
	}
	b, err := batchByID(ctx, a.Tx, batch)
	if err != nil {
		return err
	}
	v, err := varietyByID(ctx, a.Tx, b.Variety)
	if err != nil {
		return err
	}
	for _, o := range offers {
		left, err := a.pool(ctx, b, v, shoots(b.Stage, o.Stock))
		if err != nil {
			return err
		}
		var taken, received int
		if err := a.QueryRowContext(ctx, takenOffer, o.ID).Scan(&taken, &received); err != nil {
			return err
		}
		o.Free = max(0, min(o.Number-taken, left))
		o.Ended, o.Ending = a.served(o.Ended, o.Ending, received >= o.Number, o.Until)
		if err := exec(ctx, a.Tx, freeOffer, o.ID, o.Free, day(o.Ended), o.Ending); err != nil {
			return fmt.Errorf("counting an offer: %w", err)
		}
	}
	return nil
}

func (a *act) recountWant(ctx context.Context, want int64) error {
	w, err := wantByID(ctx, a.Tx, want)
	if err != nil {
		return err
	}
	var taken, received int
	if err := a.QueryRowContext(ctx, takenWant, want).Scan(&taken, &received); err != nil {
		return err
	}
	w.Ended, w.Ending = a.served(w.Ended, w.Ending, received >= w.Number, w.Last)
	return exec(ctx, a.Tx, freeWant, want, max(0, w.Number-taken), day(w.Ended), w.Ending)
}

// served ends what changed hands in full, and opens again what a correction left short while it can still serve.
func (a *act) served(ended calendar.Day, ending ShelfEnding, all bool, last calendar.Day) (calendar.Day, ShelfEnding) {
	switch {
	case all && ended.IsZero():
		return a.today, EndServed
	case !all && ending == EndServed && last >= a.today:
		return 0, ""
	}
	return ended, ending
}

const selectPromised = `
SELECT batch, sum(n) FROM (
    SELECT batch, free AS n FROM offer WHERE member = $1 AND ended = '' AND stock <> 'unrooted cuttings'
    UNION ALL SELECT batch, CASE state WHEN 'given' THEN given ELSE number END FROM swap
    WHERE giver = $1 AND state IN ('proposed', 'agreed', 'given') AND shoots = 0 AND batch IS NOT NULL)
GROUP BY batch`

// Promised gives what of a member's batches is offered, proposed, agreed or on its way, by batch; shoots apart.
func (r *Register) Promised(ctx context.Context, member int64) (promised map[int64]int, err error) {
	promised = map[int64]int{}
	err = r.read(ctx, func(tx *sql.Tx) error {
		_, err := list(ctx, tx, func(row scanner) (batch int64, err error) {
			var n int
			err = row.Scan(&batch, &n)
			promised[batch] = n
			return batch, err
		}, selectPromised, member)
		return err
	})
	return promised, err
}
