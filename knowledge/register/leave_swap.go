package register

import "context"

const (
	openTouching = `SELECT p.id FROM proposal p JOIN assent a ON a.proposal = p.id WHERE a.member = $1 AND p.state = 'open' ORDER BY p.id`
	liveTouching = selectSwaps + `WHERE s.id IN (SELECT id FROM swap WHERE giver = $1 AND state IN ('agreed', 'given')
		UNION SELECT id FROM swap WHERE receiver = $1 AND state IN ('agreed', 'given')) ORDER BY s.id`
	// What others know of is kept without the member's words; what nobody is left of goes.
	silentSwaps   = `UPDATE swap SET why = CASE WHEN state = 'cancelled' THEN 'a member left' ELSE '' END WHERE giver = $1 OR receiver = $1`
	silentTouched = `
UPDATE proposal SET why = CASE WHEN state = 'broken' THEN 'a member left' ELSE '' END
WHERE why <> '' AND id IN (SELECT proposal FROM assent WHERE member = $1)`
	lonelySwaps = `
DELETE FROM swap WHERE (giver = $1 OR receiver = $1) AND (giver IS NULL OR giver = $1) AND (receiver IS NULL OR receiver = $1)`
	emptyProposals = `
DELETE FROM proposal WHERE id IN (SELECT proposal FROM assent WHERE member = $1) AND NOT EXISTS (SELECT 1 FROM swap s WHERE s.proposal = proposal.id)`
)

// leaveSwaps ends what rests on the member who leaves, and tells the others. Of what was given and not received yet the
// giver keeps the number, and the receiver enters what came as stock.
func (a *act) leaveSwaps(ctx context.Context) error {
	open, err := list(ctx, a.Tx, scanID, openTouching, a.own.ID)
	if err != nil {
		return err
	}
	if err := a.breakProposals(ctx, open, "a member left"); err != nil {
		return err
	}
	live, err := list(ctx, a.Tx, scanSwap, liveTouching, a.own.ID)
	if err != nil {
		return err
	}
	for _, s := range live {
		now, err := swapByID(ctx, a.Tx, s.ID)
		if err != nil {
			return err
		}
		if now.State == SwapCanceled { // with another of its ring
			continue
		}
		if err := a.cancelWith(ctx, s, "a member left"); err != nil {
			return err
		}
	}
	for _, query := range []string{silentMeetings, silentSwaps, lonelySwaps, silentTouched, emptyProposals} {
		if err := exec(ctx, a.Tx, query, a.own.ID); err != nil {
			return err
		}
	}
	return nil
}
