package register

import (
	"context"
	"fmt"
)

// SwapHeld tells who is to receive plants that a report holds back, or was given them already. Its subject is the swap.
const SwapHeld TidingKind = "health-swap"

const selectSwapsHeld = selectSwaps + `
WHERE s.id IN (SELECT w.id FROM hold h JOIN swap w ON w.batch = h.batch AND w.state IN ('agreed', 'given')
               WHERE h.report = $1 AND h.clearing IS NULL AND (w.state = 'agreed' OR w.given_on >= h.since))
ORDER BY s.id`

// warnReceivers tells those who wait for plants that a report holds back; who was given them knows of the report then.
func (a *act) warnReceivers(ctx context.Context, rep Report) error {
	swaps, err := list(ctx, a.Tx, scanSwap, selectSwapsHeld, rep.ID)
	if err != nil {
		return fmt.Errorf("looking for swaps that are held: %w", err)
	}
	for _, s := range swaps {
		if s.Receiver == 0 || s.Receiver == rep.Member {
			continue
		}
		if s.State == HandedOver {
			if err := exec(ctx, a.Tx, insertWarned, rep.ID, s.Receiver, day(a.today), false); err != nil {
				return err
			}
		}
		if err := a.tell(ctx, s.Receiver, SwapHeld, s.ID); err != nil {
			return err
		}
	}
	return nil
}
