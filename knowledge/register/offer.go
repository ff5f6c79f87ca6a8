package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
)

// Offer is a part of a batch that its member gives away.
type Offer struct {
	ID      int64
	Coop    int64
	Member  int64
	Owner   string
	Batch   int64
	Mark    string // of the batch
	Variety int64
	Name    string // of the variety
	Stock   exchange.Stock
	Number  int
	Free    int          // of the number, what nothing holds and the batch can give
	From    calendar.Day // the first day on which it can be handed over
	Until   calendar.Day // the last
	Spot    string       // where it is handed over
	MadeAt  time.Time
	Ended   calendar.Day
	Ending  ShelfEnding

	ownFrom, ownUntil bool // its member said the day
}

// ShelfEnding is why an offer or a want is there no more. Its text is stored.
type ShelfEnding string

// The endings.
const (
	EndServed    ShelfEnding = "served"    // all of it changed hands
	EndOver      ShelfEnding = "over"      // its last day has passed
	EndWithdrawn ShelfEnding = "withdrawn" // by its member
	EndGone      ShelfEnding = "gone"      // the batch cannot give it any more
)

// Offering is what a member says of an offer.
type Offering struct {
	Batch       int64
	Stock       exchange.Stock // "": what the batch is
	Number      int
	From, Until calendar.Day // zero: reckoned from the batch
	Spot        string
}

const selectOffers = `
SELECT o.id, o.coop, o.member, m.name, o.batch, b.mark, o.variety, v.name, o.stock, o.number, o.free, o.ready, o.until, o.spot, o.made_at,
       o.ended, o.ending, o.own_ready, o.own_until
FROM offer o JOIN member m ON m.id = o.member JOIN batch b ON b.id = o.batch JOIN variety v ON v.id = o.variety
`

func scanOffer(row scanner) (o Offer, err error) {
	err = row.Scan(&o.ID, &o.Coop, &o.Member, &o.Owner, &o.Batch, &o.Mark, &o.Variety, &o.Name, &o.Stock, &o.Number, &o.Free, (*day)(&o.From),
		(*day)(&o.Until), &o.Spot, (*instant)(&o.MadeAt), (*day)(&o.Ended), &o.Ending, &o.ownFrom, &o.ownUntil)
	return o, err
}

const (
	selectOffer       = selectOffers + `WHERE o.id = $1`
	selectBatchOffers = selectOffers + `WHERE o.batch = $1 AND o.ended = '' ORDER BY o.id`
	selectMyOffers    = selectOffers + `WHERE o.member = $1 AND o.ended = '' ORDER BY o.until, o.id`
	selectAllOffers   = selectOffers + `WHERE o.member = $1 ORDER BY o.id`
	insertOffer       = `
INSERT INTO offer (coop, member, batch, variety, stock, number, free, ready, until, own_ready, own_until, spot, made_at)
VALUES ($1, $2, $3, $4, $5, $6, 0, $7, $8, $9, $10, $11, $12) RETURNING id`
	endOffer = `UPDATE offer SET ended = $2, ending = $3 WHERE id = $1 AND ended = ''`
)

func offerByID(ctx context.Context, tx *sql.Tx, id int64) (Offer, error) {
	return one(fault.New(fault.Missing, "There is no offer of that number. /swap list names those that are open."), tx.QueryRowContext(ctx, selectOffer, id), scanOffer)
}

// Offer gives an offer.
func (r *Register) Offer(ctx context.Context, id int64) (o Offer, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { o, err = offerByID(ctx, tx, id); return err })
	return o, err
}

// MyOffers gives a member's open offers, those that end first first.
func (r *Register) MyOffers(ctx context.Context, member int64) (all []Offer, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanOffer, selectMyOffers, member); return err })
	return all, err
}

// MakeOffer offers a part of a batch of the member's own. What is protected without a licence is not offered as
// cuttings; what is held back for health is, and waits.
func (r *Register) MakeOffer(ctx context.Context, actor Actor, of Offering) (o Offer, err error) {
	return o, r.act(ctx, actor, func(a *act) error {
		if err := a.tend(ctx); err != nil {
			return err
		}
		b, err := a.batch(ctx, of.Batch)
		if err != nil {
			return err
		}
		v, err := a.variety(ctx, b.Variety)
		if err != nil {
			return err
		}
		if of.Stock == "" {
			of.Stock = stockOf(b.Stage)
		}
		if err := offerable(b, v, of, a.today); err != nil {
			return err
		}
		if err := a.unoffered(ctx, b, v, of); err != nil {
			return err
		}
		spell, err := spellOf(ctx, a.Tx, b, of.Stock, a.today)
		if err != nil {
			return err
		}
		ownFrom, ownUntil := !of.From.IsZero(), !of.Until.IsZero()
		if err := of.dated(b, spell, a.today); err != nil {
			return err
		}
		id, err := scanID(a.QueryRowContext(ctx, insertOffer, a.own.Coop, a.own.ID, b.ID, b.Variety, of.Stock, of.Number, day(of.From), day(of.Until),
			ownFrom, ownUntil, of.Spot, a.at.Unix()))
		if err != nil {
			return fmt.Errorf("making an offer: %w", err)
		}
		if err := a.recountBatch(ctx, b.ID); err != nil {
			return err
		}
		o, err = offerByID(ctx, a.Tx, id)
		return err
	})
}

// unoffered refuses plants that are offered or promised already. How many shoots plants give is a guess, so those may be
// offered in more than one way: what the batch can give bounds them.
func (a *act) unoffered(ctx context.Context, b Batch, v Variety, of Offering) error {
	if shoots(b.Stage, of.Stock) {
		return nil
	}
	offers, err := list(ctx, a.Tx, scanOffer, selectBatchOffers, b.ID)
	if err != nil {
		return err
	}
	left, err := a.pool(ctx, b, v, false)
	if err != nil {
		return err
	}
	for _, o := range offers {
		if !shoots(b.Stage, o.Stock) {
			left -= o.Free
		}
	}
	switch {
	case of.Number <= left:
		return nil
	case left < 1:
		return fault.New(fault.Taken, "Batch %s has %d, and all are offered or promised already. /swap list show:mine has the offers, and /swap withdraw takes one back.", b.Mark, b.Count)
	}
	return fault.New(fault.Taken, "Batch %s has %d, of which %d are offered or promised already. Offer %d or fewer; /swap list show:mine has the offers, and /swap withdraw takes one back.",
		b.Mark, b.Count, b.Count-left, left)
}

// dated settles the days of an offer, the reckoned ones where none were said.
func (of *Offering) dated(b Batch, s spell, today calendar.Day) error {
	if of.From.IsZero() {
		of.From = s.from
	}
	if of.From.IsZero() {
		return fault.New(fault.Unclear, "When batch %s gives shoots cannot be reckoned: no day is planned for waking it. Say it with from:.", b.Mark)
	}
	if of.Until.IsZero() {
		if of.Until = s.until; of.From > s.from {
			of.Until = max(of.Until, of.From.Add(s.until.Sub(s.from)))
		}
	}
	switch {
	case of.Until < today && b.Stage == crop.Taken:
		return fault.New(fault.Unclear, "These cuttings were taken on %s, and cut material keeps days, not weeks. If they are still fresh, say how long with until:.", b.Since.Long())
	case of.Until < today:
		return fault.New(fault.Unclear, "%s has passed. Give an until: that is still to come.", of.Until.Long())
	case of.Until < of.From:
		return fault.New(fault.Unclear, "They are ready on %s, after %s. Give a later until:, or an earlier from:.", of.From.Long(), of.Until.Long())
	}
	return nil
}

// Withdrawn is what a withdrawal led to.
type Withdrawn struct {
	Broken  []int64 // proposals that ended with it
	Promise []Swap  // agreed or given already: they stand until cancelled
}

const (
	liveOfOffer = selectSwaps + `WHERE s.offer = $1 AND s.state IN ('agreed', 'given') ORDER BY s.id`
	openOfOffer = `SELECT DISTINCT proposal FROM swap WHERE offer = $1 AND state = 'proposed' ORDER BY proposal`
)

// WithdrawOffer takes an offer back. Open proposals that it is part of end, agreed swaps stand.
func (r *Register) WithdrawOffer(ctx context.Context, actor Actor, id int64) (o Offer, w Withdrawn, err error) {
	return o, w, r.act(ctx, actor, func(a *act) error {
		if o, err = offerByID(ctx, a.Tx, id); err != nil {
			return err
		}
		if err := a.mine(o.Member, fmt.Sprintf("Offer %d", id)); err != nil {
			return err
		}
		if !o.Ended.IsZero() {
			return fault.New(fault.Taken, "Offer %d ended on %s already (%s).", id, o.Ended.Long(), o.Ending)
		}
		if w.Broken, err = list(ctx, a.Tx, scanID, openOfOffer, id); err != nil {
			return err
		}
		if err := a.closeOffer(ctx, o, EndWithdrawn, o.Owner+" withdrew the offer"); err != nil {
			return err
		}
		w.Promise, err = list(ctx, a.Tx, scanSwap, liveOfOffer, id)
		return err
	})
}

// closeOffer ends an offer and the open proposals that it is part of.
func (a *act) closeOffer(ctx context.Context, o Offer, ending ShelfEnding, why string) error {
	open, err := list(ctx, a.Tx, scanID, openOfOffer, o.ID)
	if err != nil {
		return err
	}
	if err := exec(ctx, a.Tx, endOffer, o.ID, day(a.today), ending); err != nil {
		return fmt.Errorf("ending an offer: %w", err)
	}
	return a.breakProposals(ctx, open, why)
}
