package register

import (
	"context"
	"database/sql"
)

const (
	selectPast = selectEvents + `
WHERE e.member = $1 AND e.day >= $2 AND e.day <= $3 AND e.undone_at = 0 AND e.deed IN ('done', 'bloom', 'count')
  AND ($4 = 0 OR e.variety = $4) AND ($5 = 0 OR e.id IN (SELECT event FROM touch WHERE batch = $5))
ORDER BY e.day DESC, e.id DESC LIMIT $6`
	selectPastReports = selectReports + `
WHERE r.member = $1 AND r.seen >= $2 AND r.seen <= $3 AND r.undone = 0
  AND ($4 = 0 OR EXISTS (SELECT 1 FROM hold h JOIN batch b ON b.id = h.batch WHERE h.report = r.id AND h.why = 'seen' AND b.variety = $4))
  AND ($5 = 0 OR EXISTS (SELECT 1 FROM hold h WHERE h.report = r.id AND h.why = 'seen' AND h.batch = $5))
ORDER BY r.seen DESC, r.id DESC LIMIT $6`
)

// Past gives what a member recorded of some days beside notes, the newest first: steps done, blooms, pickings and counts,
// and the pests that were seen. Routine care is left out.
func (r *Register) Past(ctx context.Context, m Member, d Diary, limit int) (events []Event, reports []Report, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		args := []any{m.ID, day(d.From), day(d.To), d.Variety, d.Batch, limit}
		if events, err = list(ctx, tx, scanEvent, selectPast, args...); err != nil {
			return err
		}
		if reports, err = list(ctx, tx, scanReport, selectPastReports, args...); err != nil {
			return err
		}
		for i, rep := range reports {
			if reports[i].Batches, err = list(ctx, tx, scanBatch, selectSeenOn, rep.ID); err != nil {
				return err
			}
		}
		return nil
	})
	return events, reports, err
}
