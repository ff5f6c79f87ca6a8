package register

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Proposal is a smallest set of handovers that keeps the co-op's rule by itself. It becomes swaps when all agree.
type Proposal struct {
	ID      int64
	Coop    int64
	Made    calendar.Day
	Expires calendar.Day // the last day on which it can be agreed
	State   ProposalState
	Why     string // it was refused or broken
	Swaps   []Swap
	Says    []Assent
}

// Assent is what a member whom a proposal touches says to it.
type Assent struct {
	Proposal int64
	Member   int64
	Name     string
	Answer   string // "", "yes" or "no"
}

// ProposalState is what became of a proposal. Its text is stored.
type ProposalState string

// The states.
const (
	ProposalOpen    ProposalState = "open"
	ProposalAgreed  ProposalState = "agreed"
	ProposalRefused ProposalState = "refused"
	ProposalLapsed  ProposalState = "lapsed" // somebody was silent
	ProposalBroken  ProposalState = "broken" // what it rested on was gone
)

// Silent names those who have not answered.
func (p Proposal) Silent() (names []string) {
	for _, s := range p.Says {
		if s.Answer == "" {
			names = append(names, s.Name)
		}
	}
	return names
}

func inWords(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// The tidings of swaps. Subjects are proposals for the first five, then swaps, offers, wants.
const (
	TellProposed  TidingKind = "swap-proposed"
	TellReminder  TidingKind = "swap-reminder"
	TellAgreed    TidingKind = "swap-agreed"
	TellRefused   TidingKind = "swap-refused"
	TellLapsed    TidingKind = "swap-lapsed"
	TellBroken    TidingKind = "swap-broken"
	TellCancelled TidingKind = "swap-cancelled"
	TellDue       TidingKind = "swap-due"
	TellGiven     TidingKind = "swap-given"
	TellReceived  TidingKind = "swap-received"
	TellCorrected TidingKind = "swap-corrected"
	TellOfferGone TidingKind = "offer-gone"
	TellOfferEnds TidingKind = "offer-ends"
	TellWantEnds  TidingKind = "want-ends"
)

// How long members have to agree, and how long what a silence let lapse waits before it is asked again, in days.
const (
	AgreeDays = 7
	AskAgain  = 14
)

const (
	selectProposals   = `SELECT p.id, p.coop, p.made, p.expires, p.state, p.why FROM proposal p `
	selectProposal    = selectProposals + `WHERE p.id = $1`
	selectMyProposals = selectProposals + `JOIN assent a ON a.proposal = p.id WHERE a.member = $1 AND p.state = 'open' ORDER BY p.expires, p.id`
	selectAssents     = `SELECT a.proposal, a.member, m.name, a.answer FROM assent a JOIN member m ON m.id = a.member WHERE a.proposal = $1 ORDER BY a.member`
	selectAllAssents  = `SELECT a.proposal, a.member, m.name, a.answer FROM assent a JOIN member m ON m.id = a.member WHERE a.member = $1 ORDER BY a.proposal`
	setProposal       = `UPDATE proposal SET state = $2, why = $3 WHERE id = $1`
	setAnswer         = `UPDATE assent SET answer = $3 WHERE proposal = $1 AND member = $2`
	upsertDeclined    = `
INSERT INTO declined (offer, want, until) VALUES ($1, $2, $3)
ON CONFLICT (offer, want) DO UPDATE SET until = CASE WHEN declined.until = '' THEN '' ELSE excluded.until END`
)

func scanProposal(row scanner) (p Proposal, err error) {
	err = row.Scan(&p.ID, &p.Coop, (*day)(&p.Made), (*day)(&p.Expires), &p.State, &p.Why)
	return p, err
}

func scanAssent(row scanner) (s Assent, err error) {
	err = row.Scan(&s.Proposal, &s.Member, &s.Name, &s.Answer)
	return s, err
}

func proposalByID(ctx context.Context, tx *sql.Tx, id int64) (Proposal, error) {
	p, err := one(fault.New(fault.Missing, "There is no proposal of that number. /swap list show:mine names those that wait for you."), tx.QueryRowContext(ctx, selectProposal, id), scanProposal)
	if err != nil {
		return p, err
	}
	return p, fillProposal(ctx, tx, &p)
}

func fillProposal(ctx context.Context, tx *sql.Tx, p *Proposal) (err error) {
	if p.Swaps, err = list(ctx, tx, scanSwap, selectParts, p.ID); err != nil {
		return err
	}
	p.Says, err = list(ctx, tx, scanAssent, selectAssents, p.ID)
	return err
}

// Proposal gives a proposal with its handovers and answers.
func (r *Register) Proposal(ctx context.Context, id int64) (p Proposal, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { p, err = proposalByID(ctx, tx, id); return err })
	return p, err
}

// MyProposals gives the open proposals that touch a member, those that expire first first.
func (r *Register) MyProposals(ctx context.Context, member int64) (all []Proposal, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		if all, err = list(ctx, tx, scanProposal, selectMyProposals, member); err != nil {
			return err
		}
		for i := range all {
			if err := fillProposal(ctx, tx, &all[i]); err != nil {
				return err
			}
		}
		return nil
	})
	return all, err
}

// Agree records a member's yes. With the last one the proposal becomes swaps.
func (r *Register) Agree(ctx context.Context, actor Actor, proposal int64) (p Proposal, err error) {
	return p, r.act(ctx, actor, func(a *act) error {
		if p, err = a.answerable(ctx, proposal); err != nil {
			return err
		}
		for _, s := range p.Says {
			if s.Member == a.own.ID && s.Answer == "yes" {
				return fault.New(fault.Taken, "Proposal %d has %s's yes already. It waits for %s.", p.ID, a.own.Name, inWords(p.Silent()))
			}
			reach, err := reachOf(ctx, a.Tx, s.Member)
			if err != nil {
				return err
			}
			if !reach.Away.IsZero() {
				return fault.New(fault.Taken, "%s has left the co-op's server, so proposal %d cannot be carried out. /swap agree proposal:%d answer:no ends it, and its numbers are free for others.", s.Name, p.ID, p.ID)
			}
		}
		for _, s := range p.Swaps {
			b, err := batchByID(ctx, a.Tx, s.Batch)
			if err != nil {
				return err
			}
			if err := a.passable(ctx, b); err != nil {
				return err
			}
		}
		if err := exec(ctx, a.Tx, setAnswer, p.ID, a.own.ID, "yes"); err != nil {
			return err
		}
		if err := fillProposal(ctx, a.Tx, &p); err != nil {
			return err
		}
		if len(p.Silent()) > 0 {
			return nil
		}
		if err := a.settleProposal(ctx, p, ProposalAgreed, Agreed, "", TellAgreed); err != nil {
			return err
		}
		p, err = proposalByID(ctx, a.Tx, p.ID)
		return err
	})
}

// Refuse records a member's no, which ends the proposal. What the member would have given or got in it is not proposed
// again; only the swap named, where one is.
func (r *Register) Refuse(ctx context.Context, actor Actor, proposal, swap int64, why string) (p Proposal, err error) {
	return p, r.act(ctx, actor, func(a *act) error {
		if p, err = a.answerable(ctx, proposal); err != nil {
			return err
		}
		var no []Swap
		for _, s := range p.Swaps {
			if (s.Giver == a.own.ID || s.Receiver == a.own.ID) && (swap == 0 || swap == s.ID) {
				no = append(no, s)
			}
		}
		if len(no) == 0 {
			return fault.New(fault.Unclear, "Swap %d is not one of yours in proposal %d. Name one that is, or none to refuse all of yours in it.", swap, p.ID)
		}
		if err := a.decline(ctx, no, 0); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, setAnswer, p.ID, a.own.ID, "no"); err != nil {
			return err
		}
		reason := a.own.Name + " refused"
		if why != "" {
			reason += ": " + why
		}
		if err := a.settleProposal(ctx, p, ProposalRefused, SwapRefused, reason, TellRefused); err != nil {
			return err
		}
		p, err = proposalByID(ctx, a.Tx, p.ID)
		return err
	})
}

// decline keeps handovers from being proposed again; until a day, or for ever where that is zero.
func (a *act) decline(ctx context.Context, swaps []Swap, until calendar.Day) error {
	for _, s := range swaps {
		if s.Offer == 0 || s.Want == 0 {
			continue
		}
		if err := exec(ctx, a.Tx, upsertDeclined, s.Offer, s.Want, day(until)); err != nil {
			return fmt.Errorf("declining a handover: %w", err)
		}
	}
	return nil
}

// answerable gives an open proposal that touches the deed's member.
func (a *act) answerable(ctx context.Context, id int64) (Proposal, error) {
	if err := a.tend(ctx); err != nil {
		return Proposal{}, err
	}
	p, err := proposalByID(ctx, a.Tx, id)
	switch {
	case err != nil:
		return p, err
	case p.Coop != a.own.Coop || !slices.ContainsFunc(p.Says, func(s Assent) bool { return s.Member == a.own.ID }):
		return p, fault.New(fault.Barred, "Proposal %d does not touch %s, so there is nothing to agree. /swap list show:mine names those that do.", id, a.own.Name)
	case p.State == ProposalAgreed:
		return p, fault.New(fault.Taken, "Proposal %d is agreed already. /swap list show:mine has its swaps; /swap cancel ends one.", id)
	case p.State == ProposalLapsed:
		return p, fault.New(fault.Taken, "Proposal %d could be agreed until %s only. /swap match finds anew.", id, p.Expires.Long())
	case p.State != ProposalOpen:
		return p, fault.New(fault.Taken, "Proposal %d came to nothing: %s. /swap match finds anew.", id, p.Why)
	}
	return p, nil
}

// settleProposal ends the openness of a proposal, with its swaps, and tells all whom it touches.
func (a *act) settleProposal(ctx context.Context, p Proposal, state ProposalState, swaps SwapState, why string, tell TidingKind) error {
	if err := exec(ctx, a.Tx, setProposal, p.ID, state, why); err != nil {
		return fmt.Errorf("settling a proposal: %w", err)
	}
	for _, s := range p.Swaps {
		if err := a.place(ctx, s, swaps, ""); err != nil {
			return err
		}
	}
	for _, s := range p.Says {
		if err := a.tell(ctx, s.Member, tell, p.ID); err != nil {
			return err
		}
	}
	return nil
}

// breakProposals ends open proposals whose plants or wants are gone.
func (a *act) breakProposals(ctx context.Context, ids []int64, why string) error {
	for _, id := range ids {
		p, err := proposalByID(ctx, a.Tx, id)
		if err != nil {
			return err
		}
		if p.State != ProposalOpen {
			continue
		}
		if err := a.settleProposal(ctx, p, ProposalBroken, SwapBroken, why, TellBroken); err != nil {
			return err
		}
	}
	return nil
}
