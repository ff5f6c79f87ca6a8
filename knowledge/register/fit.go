package register

import (
	"context"
	"fmt"
	"slices"

	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
)

const (
	offersOrSwaps = `
SELECT (SELECT count(*) FROM offer WHERE batch = $1 AND ended = '') + (SELECT count(*) FROM swap WHERE batch = $1 AND state IN ('proposed', 'agreed', 'given'))`
	heldOfBatch = selectSwaps + `WHERE s.batch = $1 AND s.state IN ('proposed', 'agreed', 'given') ORDER BY s.id`
	dateOffer   = `UPDATE offer SET ready = $2, until = $3 WHERE id = $1`
)

// fit brings offers and swaps in line with a batch that changed: what it can no longer give ends, the latest promise
// first, and days that were reckoned follow it. What was given and is not received yet stays in the batch's number.
func (a *act) fit(ctx context.Context, batch int64) error {
	n, err := scanID(a.QueryRowContext(ctx, offersOrSwaps, batch))
	if err != nil || n == 0 {
		return err
	}
	b, err := batchByID(ctx, a.Tx, batch)
	if err != nil {
		return err
	}
	if err := a.redate(ctx, b); err != nil {
		return err
	}
	v, err := varietyByID(ctx, a.Tx, b.Variety)
	if err != nil {
		return err
	}
	for {
		swaps, err := list(ctx, a.Tx, scanSwap, heldOfBatch, batch)
		if err != nil {
			return err
		}
		s, over, err := a.overdrawn(ctx, b, v, swaps)
		switch {
		case err != nil:
			return err
		case !over:
			return a.recountBatch(ctx, batch)
		}
		if err := a.giveUp(ctx, b, s); err != nil {
			return err
		}
	}
}

// overdrawn gives the swap that a batch cannot keep: one of a form it no longer gives, else the latest of a form of which
// more is promised than there is; proposed before agreed ones, given ones last.
func (a *act) overdrawn(ctx context.Context, b Batch, v Variety, swaps []Swap) (Swap, bool, error) {
	rank := []SwapState{Proposed, Agreed, HandedOver}
	slices.SortStableFunc(swaps, func(x, y Swap) int {
		if r := slices.Index(rank, x.State) - slices.Index(rank, y.State); r != 0 {
			return r
		}
		return int(y.ID - x.ID)
	})
	for _, s := range swaps {
		if s.State != HandedOver && (!b.Live() || !Gives(b.Stage, s.Stock)) {
			return s, true, nil
		}
		left, err := a.pool(ctx, b, v, s.Shoots)
		if err != nil {
			return s, false, err
		}
		if left < 0 {
			return s, true, nil
		}
	}
	return Swap{}, false, nil
}

// giveUp ends a swap that the batch cannot keep; what was given already cannot be taken out of the number meanwhile.
func (a *act) giveUp(ctx context.Context, b Batch, s Swap) error {
	switch s.State {
	case Proposed:
		return a.breakProposals(ctx, []int64{s.Proposal}, fmt.Sprintf("batch %s no longer has what was offered", b.Mark))
	case Agreed:
		return a.cancelWith(ctx, s, fmt.Sprintf("batch %s no longer has what was agreed", b.Mark))
	}
	return fault.New(fault.Taken, "%d of batch %s are on their way to %s (swap %d) and count here until they are received. Leave them in the number, or end that first with /swap received or /swap cancel.",
		s.Given, b.Mark, s.ToName, s.ID)
}

// redate moves the reckoned days of a batch's offers, and ends those of a form that it no longer gives.
func (a *act) redate(ctx context.Context, b Batch) error {
	offers, err := list(ctx, a.Tx, scanOffer, selectBatchOffers, b.ID)
	if err != nil {
		return err
	}
	for _, o := range offers {
		if !b.Live() || !Gives(b.Stage, o.Stock) {
			if err := a.closeOffer(ctx, o, EndGone, fmt.Sprintf("batch %s can no longer give them", b.Mark)); err != nil {
				return err
			}
			if o.Free > 0 && b.Live() {
				if err := a.tell(ctx, o.Member, TellOfferGone, o.ID); err != nil {
					return err
				}
			}
			continue
		}
		s, err := spellOf(ctx, a.Tx, b, o.Stock, a.today)
		if err != nil {
			return err
		}
		from, until := o.From, o.Until
		if !o.ownFrom && !s.from.IsZero() && o.follows(b) {
			from = s.from
		}
		if !o.ownUntil {
			until = until.Add(from.Sub(o.From))
		}
		if from != o.From || until != o.Until {
			if err := exec(ctx, a.Tx, dateOffer, o.ID, day(from), day(until)); err != nil {
				return err
			}
		}
	}
	return nil
}

// follows reports whether the first day of an offer follows from a day of the batch, and not from the day it was made.
func (o Offer) follows(b Batch) bool {
	switch b.Stage {
	case crop.Boxed, crop.Woken, crop.Taken:
		return o.Stock == exchange.Unrooted
	}
	return b.Stage == crop.Struck
}
