package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
)

// How many days before its last an open offer or want has a word said, and before a proposal expires a silent member is
// reminded. Cuttings are offered for so short a time that their word comes later.
const (
	wordBefore    = 7
	wordOfCutting = 2
	remindBefore  = 2
)

const (
	lapsedProposals = selectProposals + `WHERE p.coop = $1 AND p.state = 'open' AND p.expires < $2 ORDER BY p.id`
	remindProposals = selectProposals + `WHERE p.coop = $1 AND p.state = 'open' AND p.expires <= $2 AND p.made < $3 AND p.reminded = 0 ORDER BY p.id`
	markReminded    = `UPDATE proposal SET reminded = 1 WHERE id = $1`
	overOffers      = `UPDATE offer SET ended = $2, ending = 'over' WHERE coop = $1 AND ended = '' AND until < $2`
	overWants       = `UPDATE want SET ended = $2, ending = 'over' WHERE coop = $1 AND ended = '' AND last < $2`
	endingOffers    = `
UPDATE offer SET warned = 1 WHERE coop = $1 AND ended = '' AND warned = 0 AND free > 0 AND until <= $2
   AND (until <= $3 OR stock NOT IN ('unrooted cuttings', 'rooted cuttings')) RETURNING id, member`
	endingWants = `UPDATE want SET warned = 1 WHERE coop = $1 AND ended = '' AND warned = 0 AND free > 0 AND last <= $2 RETURNING id, member`
	dueSwaps    = selectSwaps + `
WHERE s.coop = $1 AND s.state = 'agreed' AND (s.told = '' AND s.first <= $2 OR s.told < s.last AND s.told <> '' AND s.last <= $2) ORDER BY s.id`
	markTold = `UPDATE swap SET told = $2 WHERE id = $1`
)

// Tend does what the day brings for a co-op's offers, wants and proposals: those whose time is over end, with a word
// before, and handovers that are due are told. It may be done any number of times a day; at is in the co-op's zone.
func (r *Register) Tend(ctx context.Context, coop int64, at time.Time) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		a := &act{Tx: tx, own: Member{Coop: coop}, at: at, today: calendar.DayAt(at)}
		if err := a.tend(ctx); err != nil {
			return err
		}
		return a.speak(ctx)
	})
}

// tendStruck tends the co-ops of the strokes of a moment, each by its own day.
func tendStruck(ctx context.Context, tx *sql.Tx, at time.Time, strokes []Stroke) error {
	seen := map[int64]bool{}
	for _, s := range strokes {
		if seen[s.Coop] {
			continue
		}
		seen[s.Coop] = true
		a := &act{Tx: tx, own: Member{Coop: s.Coop}, at: at, today: calendar.DayAt(at.In(zoneNamed(s.Zone)))}
		if err := errors.Join(a.tend(ctx), a.speak(ctx)); err != nil {
			return fmt.Errorf("tending swaps: %w", err)
		}
	}
	return nil
}

const isOver = `
SELECT EXISTS (SELECT 1 FROM proposal WHERE coop = $1 AND state = 'open' AND expires < $2)
    OR EXISTS (SELECT 1 FROM offer WHERE coop = $1 AND ended = '' AND until < $2)
    OR EXISTS (SELECT 1 FROM want WHERE coop = $1 AND ended = '' AND last < $2)`

// Lapse ends the offers, wants and proposals of a co-op whose time is over, for an answer that shows how they stand.
// Where there are none it writes nothing.
func (r *Register) Lapse(ctx context.Context, coop int64, at time.Time) error {
	today, over := calendar.DayAt(at), false
	err := r.read(ctx, func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, isOver, coop, day(today)).Scan(&over) })
	if err != nil || !over {
		return err
	}
	return r.write(ctx, at, func(tx *sql.Tx) error {
		a := &act{Tx: tx, own: Member{Coop: coop}, at: at, today: today}
		return a.tend(ctx)
	})
}

// tend ends what is over. Every deed about swaps begins with it, so that nothing rests on a day that has passed.
func (a *act) tend(ctx context.Context) error {
	lapsed, err := list(ctx, a.Tx, scanProposal, lapsedProposals, a.own.Coop, day(a.today))
	if err != nil {
		return err
	}
	for _, p := range lapsed {
		if err := a.lapse(ctx, p); err != nil {
			return err
		}
	}
	for _, query := range []string{overOffers, overWants} {
		if err := exec(ctx, a.Tx, query, a.own.Coop, day(a.today)); err != nil {
			return fmt.Errorf("ending what is over: %w", err)
		}
	}
	return nil
}

// lapse ends a proposal to which somebody was silent. What the silent ones would have given or got is asked again later.
func (a *act) lapse(ctx context.Context, p Proposal) error {
	if err := fillProposal(ctx, a.Tx, &p); err != nil {
		return err
	}
	silent := map[int64]bool{}
	for _, s := range p.Says {
		silent[s.Member] = s.Answer == ""
	}
	for _, s := range p.Swaps {
		if silent[s.Giver] || silent[s.Receiver] {
			if err := a.decline(ctx, []Swap{s}, a.today.Add(AskAgain-1)); err != nil {
				return err
			}
		}
	}
	return a.settleProposal(ctx, p, ProposalLapsed, SwapLapsed, "no answer from "+inWords(p.Silent()), TellLapsed)
}

// speak writes the tidings of a day: reminders, the word before an end, and what is to be handed over.
func (a *act) speak(ctx context.Context) error {
	waiting, err := list(ctx, a.Tx, scanProposal, remindProposals, a.own.Coop, day(a.today.Add(remindBefore)), day(a.today))
	if err != nil {
		return err
	}
	for _, p := range waiting {
		if err := fillProposal(ctx, a.Tx, &p); err != nil {
			return err
		}
		for _, s := range p.Says {
			if s.Answer == "" {
				if err := a.tell(ctx, s.Member, TellReminder, p.ID); err != nil {
					return err
				}
			}
		}
		if err := exec(ctx, a.Tx, markReminded, p.ID); err != nil {
			return err
		}
	}
	word := day(a.today.Add(wordBefore))
	if err := a.tellEach(ctx, TellOfferEnds, endingOffers, a.own.Coop, word, day(a.today.Add(wordOfCutting))); err != nil {
		return err
	}
	if err := a.tellEach(ctx, TellWantEnds, endingWants, a.own.Coop, word); err != nil {
		return err
	}
	return a.due(ctx)
}

// tellEach tells the member of every row that a query gives.
func (a *act) tellEach(ctx context.Context, kind TidingKind, query string, args ...any) error {
	type ending struct{ id, member int64 }
	all, err := list(ctx, a.Tx, func(row scanner) (e ending, err error) {
		err = row.Scan(&e.id, &e.member)
		return e, err
	}, query, args...)
	if err != nil {
		return err
	}
	for _, e := range all {
		if err := a.tell(ctx, e.member, kind, e.id); err != nil {
			return err
		}
	}
	return nil
}

// due tells both members of a swap when it can be handed over, and once more on its last day; not while a day and hour
// that both know are still to come.
func (a *act) due(ctx context.Context) error {
	due, err := list(ctx, a.Tx, scanSwap, dueSwaps, a.own.Coop, day(a.today))
	if err != nil {
		return err
	}
	for _, s := range due {
		for _, m := range []int64{s.Giver, s.Receiver} {
			if s.Meets() && s.Meeting.At.After(a.at) {
				break
			}
			if err := a.tell(ctx, m, TellDue, s.ID); err != nil {
				return err
			}
		}
		if err := exec(ctx, a.Tx, markTold, s.ID, day(a.today)); err != nil {
			return err
		}
	}
	return nil
}
