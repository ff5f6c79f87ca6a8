package register

import (
	"context"
	"fmt"
)

const (
	// needed are the batches that living members' plants came from, without those of the one who leaves.
	needed = `
WITH RECURSIVE needed (id) AS (
    SELECT parent FROM batch WHERE parent IS NOT NULL AND member <> $1 AND coop = $2
    UNION
    SELECT b.parent FROM batch b JOIN needed ON b.id = needed.id WHERE b.parent IS NOT NULL
)`
	namelessLineage = needed + `
UPDATE batch SET member = NULL, count = 0, spot = '', plan = NULL, ended = CASE WHEN ended = '' THEN $3 ELSE ended END
WHERE member = $1 AND id IN (SELECT id FROM needed)`
	deleteBatches = needed + `
DELETE FROM batch WHERE coop = $2 AND (member = $1 OR member IS NULL) AND id NOT IN (SELECT id FROM needed)`
	deleteTouches = `DELETE FROM touch WHERE batch IN (SELECT id FROM batch WHERE member IS NULL AND coop = $1)`
	deleteCare    = `DELETE FROM care WHERE batch IN (SELECT id FROM batch WHERE member IS NULL AND coop = $1)`
	deleteApart   = `DELETE FROM hold WHERE why = 'apart' AND batch IN (SELECT id FROM batch WHERE member IS NULL AND coop = $1)`
	silentReports = `UPDATE report SET what = '', event = NULL WHERE member = $1`
	silentReasons = `UPDATE clearing SET reason = '' WHERE event IN (SELECT id FROM event WHERE member = $1)`
	deleteReports = `
DELETE FROM report WHERE member = $1 AND NOT EXISTS (
    SELECT 1 FROM hold h JOIN batch b ON b.id = h.batch WHERE h.report = report.id AND b.member <> $1)`
	deleteMember = `DELETE FROM member WHERE id = $1`
	hasSteward   = `SELECT count(*) FROM member WHERE coop = $1 AND steward = 1`
)

// Leave removes the actor, or the member a steward does it for, and all that is theirs. Of their batches only those
// stay that plants of others came from, nameless and empty, and of their reports only those that hold others' plants,
// nameless and without their words. Swaps that others took part in stay the same way. Where no steward is left, the
// longest-standing member is one. It cannot be undone.
func (r *Register) Leave(ctx context.Context, actor Actor) error {
	return r.act(ctx, actor, func(a *act) error {
		if err := a.leaveSwaps(ctx); err != nil {
			return fmt.Errorf("leaving: %w", err)
		}
		if err := exec(ctx, a.Tx, namelessLineage, a.own.ID, a.own.Coop, day(a.today)); err != nil {
			return fmt.Errorf("leaving: %w", err)
		}
		for _, query := range []string{deleteReports, silentReports, silentReasons} {
			if err := exec(ctx, a.Tx, query, a.own.ID); err != nil {
				return fmt.Errorf("leaving: %w", err)
			}
		}
		for _, query := range []string{deleteTouches, deleteCare, deleteApart} {
			if err := exec(ctx, a.Tx, query, a.own.Coop); err != nil {
				return fmt.Errorf("leaving: %w", err)
			}
		}
		if err := exec(ctx, a.Tx, deleteBatches, a.own.ID, a.own.Coop); err != nil {
			return fmt.Errorf("leaving: %w", err)
		}
		if err := exec(ctx, a.Tx, deleteKeptOf, a.own.Key, a.own.Coop); err != nil {
			return fmt.Errorf("leaving: %w", err)
		}
		if err := exec(ctx, a.Tx, deleteMember, a.own.ID); err != nil { // all else goes with the member
			return fmt.Errorf("leaving: %w", err)
		}
		stewards, err := scanID(a.QueryRowContext(ctx, hasSteward, a.own.Coop))
		if err != nil || stewards > 0 {
			return err
		}
		return exec(ctx, a.Tx, promoteEldest, a.own.Coop)
	})
}
