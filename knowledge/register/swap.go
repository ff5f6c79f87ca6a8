package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/calendar"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
)

// Swap is one handover, from its proposal to the day on which it was received.
type Swap struct {
	ID         int64
	Coop       int64
	Proposal   int64
	Offer      int64
	Want       int64
	Giver      int64 // 0 once that member has left
	GiverName  string
	Receiver   int64
	ToName     string
	Batch      int64 // the giver's
	Mark       string
	Variety    int64
	Name       string // of the variety
	Stock      exchange.Stock
	Number     int          // agreed
	Shoots     bool         // of plants that stay: no part of the batch's number
	First      calendar.Day // the days on which it can be handed over
	Last       calendar.Day
	Spot       string // where the giver hands it over
	State      SwapState
	Given      int
	GivenOn    calendar.Day
	Received   int
	ReceivedOn calendar.Day
	Made       int64 // the receiver's new batch
	MadeMark   string
	Why        string // it was cancelled or corrected
	Meeting    Meeting
}

// SwapState is how far a handover has come. Its text is stored.
type SwapState string

// The states. The first three hold numbers of the offer and the want; received, they have changed hands.
const (
	Proposed     SwapState = "proposed"
	Agreed       SwapState = "agreed"
	HandedOver   SwapState = "given" // by the giver's word
	Arrived      SwapState = "received"
	SwapRefused  SwapState = "refused"
	SwapLapsed   SwapState = "lapsed"
	SwapBroken   SwapState = "broken" // what it rested on was gone
	SwapCanceled SwapState = "cancelled"
)

const selectSwaps = `
SELECT s.id, s.coop, s.proposal, s.offer, s.want, s.giver, COALESCE(g.name, ''), s.receiver, COALESCE(t.name, ''), s.batch, COALESCE(b.mark, ''),
       s.variety, v.name, s.stock, s.number, s.shoots, s.first, s.last, COALESCE(o.spot, ''), s.state, s.given, s.given_on, s.received, s.received_on,
       s.made, COALESCE(n.mark, ''), s.why,
       COALESCE(e.at, 0), COALESCE(e.zone, ''), COALESCE(e.spot, ''), COALESCE(e.changed, 0), COALESCE(e.seq, 0), COALESCE(e.called_off, 0)
FROM swap s JOIN variety v ON v.id = s.variety LEFT JOIN member g ON g.id = s.giver LEFT JOIN member t ON t.id = s.receiver
     LEFT JOIN batch b ON b.id = s.batch LEFT JOIN batch n ON n.id = s.made LEFT JOIN offer o ON o.id = s.offer
     LEFT JOIN meeting e ON e.swap = s.id
`

func scanSwap(row scanner) (s Swap, err error) {
	e := &s.Meeting
	err = row.Scan(&s.ID, &s.Coop, &s.Proposal, (*ref)(&s.Offer), (*ref)(&s.Want), (*ref)(&s.Giver), &s.GiverName, (*ref)(&s.Receiver), &s.ToName,
		(*ref)(&s.Batch), &s.Mark, &s.Variety, &s.Name, &s.Stock, &s.Number, &s.Shoots, (*day)(&s.First), (*day)(&s.Last), &s.Spot, &s.State,
		&s.Given, (*day)(&s.GivenOn), &s.Received, (*day)(&s.ReceivedOn), (*ref)(&s.Made), &s.MadeMark, &s.Why,
		(*instant)(&e.At), &e.Zone, &e.Spot, (*instant)(&e.Changed), &e.Seq, &e.Off)
	if err == nil && !e.At.IsZero() && e.Zone != "" {
		e.At = e.At.In(zoneNamed(e.Zone))
	}
	return s, err
}

const (
	selectSwap    = selectSwaps + `WHERE s.id = $1`
	selectParts   = selectSwaps + `WHERE s.proposal = $1 ORDER BY s.id`
	selectMySwaps = selectSwaps + `WHERE s.id IN (SELECT id FROM swap WHERE giver = $1 AND state IN ('proposed', 'agreed', 'given')
		UNION SELECT id FROM swap WHERE receiver = $1 AND state IN ('proposed', 'agreed', 'given')) ORDER BY s.last, s.id`
	selectAllSwaps  = selectSwaps + `WHERE s.giver = $1 OR s.receiver = $1 ORDER BY s.id`
	selectHandovers = selectSwaps + `WHERE s.coop = $1 AND s.state IN ('agreed', 'given') AND ($2 = 0 OR s.giver = $2 OR s.receiver = $2)
  AND s.first <= $4 AND s.last >= $3 AND (` + unappointed + ` OR e.day BETWEEN $3 AND $4)
ORDER BY CASE WHEN ` + unappointed + ` THEN s.first ELSE e.day END, e.at, s.id`
	unappointed  = `(e.at IS NULL OR e.called_off = 1 OR s.state <> 'agreed')`
	setSwapState = `UPDATE swap SET state = $2, why = $3 WHERE id = $1`
)

func swapByID(ctx context.Context, tx *sql.Tx, id int64) (Swap, error) {
	return one(fault.New(fault.Missing, "There is no swap of that number. /swap list show:mine names yours."), tx.QueryRowContext(ctx, selectSwap, id), scanSwap)
}

// Swap gives a swap.
func (r *Register) Swap(ctx context.Context, id int64) (s Swap, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { s, err = swapByID(ctx, tx, id); return err })
	return s, err
}

// MySwaps gives a member's swaps that are proposed, agreed or on their way, by last day.
func (r *Register) MySwaps(ctx context.Context, member int64) (all []Swap, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanSwap, selectMySwaps, member); return err })
	return all, err
}

// Handovers gives a co-op's swaps that are agreed or on their way and can be handed over on one of the days, or are
// appointed for one; those of one member where that is not 0. By the day appointed, else the first one.
func (r *Register) Handovers(ctx context.Context, coop, member int64, from, until calendar.Day) (all []Swap, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanSwap, selectHandovers, coop, member, day(from), day(until))
		return err
	})
	return all, err
}

// mySwap gives a swap in which the deed's member takes part.
func (a *act) mySwap(ctx context.Context, id int64) (Swap, error) {
	s, err := swapByID(ctx, a.Tx, id)
	if err == nil && s.Giver != a.own.ID && s.Receiver != a.own.ID {
		err = fault.New(fault.Barred, "Swap %d is between %s and %s, and only they change it. A steward can record it with for: and the name of one of them.", id, s.GiverName, s.ToName)
		if s.Coop != a.own.Coop {
			err = fault.New(fault.Missing, "The co-op has no swap of that number. /swap list show:mine names yours.")
		}
	}
	return s, err
}

// settled says why a swap in its state does not take a word more; nil where it does.
func (s Swap) settled() error {
	switch s.State {
	case Proposed:
		return fault.New(fault.Later, "Swap %d is only proposed: all whom it touches agree first, with /swap agree proposal:%d.", s.ID, s.Proposal)
	case Arrived:
		return fault.New(fault.Taken, "Swap %d was handed over on %s: %d received. /swap correct puts the number right, with a reason.", s.ID, s.ReceivedOn.Long(), s.Received)
	case SwapRefused, SwapLapsed, SwapBroken, SwapCanceled:
		return fault.New(fault.Taken, "Swap %d came to nothing (%s). /swap list show:mine names those that stand.", s.ID, s.State)
	}
	return nil
}

// place moves a swap to a state and counts what that frees or holds.
func (a *act) place(ctx context.Context, s Swap, state SwapState, why string) error {
	if err := exec(ctx, a.Tx, setSwapState, s.ID, state, why); err != nil {
		return err
	}
	return a.recount(ctx, s)
}

// recount brings in line what is free of the offer and the want of a swap.
func (a *act) recount(ctx context.Context, s Swap) error {
	if s.Batch != 0 {
		if err := a.recountBatch(ctx, s.Batch); err != nil {
			return err
		}
	}
	if s.Want == 0 {
		return nil
	}
	return a.recountWant(ctx, s.Want)
}
