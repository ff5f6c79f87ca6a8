package register

import (
	"context"
	"database/sql"
	"slices"
	"strconv"
	"strings"
)

// atOnce is how many batches one statement finds.
const atOnce = 100

// selectSome finds as many batches; of an id that stands twice the batch comes once.
func selectSome() string {
	places := make([]string, atOnce)
	for i := range places {
		places[i] = "$" + strconv.Itoa(i+1)
	}
	return selectBatches + `WHERE b.id IN (` + strings.Join(places, ", ") + `)`
}

// batchesByID gives the batches of those ids, in no order; what is not in the register is left out.
func batchesByID(ctx context.Context, tx *sql.Tx, ids []int64) (all []Batch, err error) {
	query, args := selectSome(), make([]any, atOnce)
	for some := range slices.Chunk(ids, atOnce) {
		for i := range args {
			args[i] = some[min(i, len(some)-1)]
		}
		found, err := list(ctx, tx, scanBatch, query, args...)
		if err != nil {
			return nil, err
		}
		all = append(all, found...)
	}
	return all, nil
}
