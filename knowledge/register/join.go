package register

import (
	"context"
	"fmt"

	"shortday/knowledge/fault"
)

const (
	joinBatches   = `UPDATE batch SET variety = $2 WHERE variety = $1`
	joinEvents    = `UPDATE event SET variety = $2 WHERE variety = $1`
	joinStops     = `UPDATE stop SET variety = $2 WHERE variety = $1 AND member IS NOT NULL`
	dropStops     = `DELETE FROM stop WHERE variety = $1`
	joinResponse  = `INSERT INTO own_response (variety, member, weeks) SELECT $2, member, weeks FROM own_response WHERE variety = $1 ON CONFLICT (variety, member) DO NOTHING`
	dropResponse  = `DELETE FROM own_response WHERE variety = $1`
	joinJobs      = `UPDATE job SET variety = $2 WHERE variety = $1`
	joinPlans     = `UPDATE plan SET variety = $2 WHERE variety = $1`
	joinOffers    = `UPDATE offer SET variety = $2 WHERE variety = $1`
	joinWants     = `UPDATE want SET variety = $2 WHERE variety = $1`
	joinAlike     = `UPDATE want SET alike = $2 WHERE alike = $1`
	joinSwaps     = `UPDATE swap SET variety = $2 WHERE variety = $1`
	joinPromises  = `UPDATE promise SET variety = $2 WHERE variety = $1`
	endKeeps      = `UPDATE plan SET ended = $2, ending = 'replaced' WHERE variety = $1 AND bloom_from = '' AND ended = ''`
	dropKeepJobs  = `UPDATE job SET state = 'dropped', seq = seq + 1 WHERE state = 'open' AND plan IN (SELECT id FROM plan WHERE variety = $1 AND bloom_from = '' AND ended = '')`
	deleteVariety = `DELETE FROM variety WHERE id = $1`
	growersOf     = `SELECT member FROM batch WHERE variety = $1 AND member IS NOT NULL UNION SELECT member FROM plan WHERE variety = $1 ORDER BY 1`
)

// Join makes two varieties one: all that was recorded of the first is the second's from now on, and the first name is
// gone. What the co-op knew of the second stays, with members' own stops and responses of both. A steward's deed.
func (r *Register) Join(ctx context.Context, actor Actor, from, into int64) (joined Variety, err error) {
	return joined, r.act(ctx, actor, func(a *act) error {
		if err := a.steward("join two varieties"); err != nil {
			return err
		}
		for _, id := range []int64{from, into} {
			if _, err := a.variety(ctx, id); err != nil {
				return err
			}
		}
		if from == into {
			return fault.New(fault.Unclear, "That is one variety twice. Name two to join.")
		}
		if err := exec(ctx, a.Tx, dropKeepJobs, from); err != nil {
			return fmt.Errorf("joining varieties: %w", err)
		}
		if err := exec(ctx, a.Tx, endKeeps, from, day(a.today)); err != nil {
			return fmt.Errorf("joining varieties: %w", err)
		}
		for _, query := range []string{joinBatches, joinEvents, joinStops, joinResponse, joinJobs, joinPlans, joinOffers, joinWants, joinAlike, joinSwaps, joinPromises} {
			if err := exec(ctx, a.Tx, query, from, into); err != nil {
				return fmt.Errorf("joining varieties: %w", err)
			}
		}
		for _, query := range []string{dropStops, dropResponse, deleteVariety} {
			if err := exec(ctx, a.Tx, query, from); err != nil {
				return fmt.Errorf("joining varieties: %w", err)
			}
		}
		if err := a.settleAll(ctx, into); err != nil {
			return err
		}
		joined, err = varietyByID(ctx, a.Tx, into)
		return err
	})
}

// settleAll settles the plans of all who grow a variety.
func (a *act) settleAll(ctx context.Context, variety int64) error {
	growers, err := list(ctx, a.Tx, scanID, growersOf, variety)
	if err != nil {
		return err
	}
	for _, id := range growers {
		own, err := memberByID(ctx, a.Tx, id)
		if err != nil {
			return err
		}
		theirs := &act{Tx: a.Tx, by: a.by, own: own, at: a.at, today: a.today}
		if err := theirs.settle(ctx, variety, 0, &Outcome{}); err != nil {
			return err
		}
	}
	return nil
}
