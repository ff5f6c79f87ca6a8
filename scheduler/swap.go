package scheduler

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"shortday/knowledge/register"
)

// swapComposers tell of proposals, swaps, offers and wants.
func swapComposers() map[register.TidingKind]composer {
	all := map[register.TidingKind]composer{
		register.TellProposed: composeProposed, register.TellReminder: composeProposed, register.TellAgreed: composeAgreed,
		register.TellCancelled: composeCancelled, register.TellDue: composeDue, register.TellGiven: composeGiven,
		register.TellReceived: composeReceived, register.TellCorrected: composeCorrected,
		register.TellOfferGone: composeOfferGone, register.TellOfferEnds: composeOfferEnds, register.TellWantEnds: composeWantEnds,
		register.TellRisk: composeRisk,
	}
	maps.Copy(all, meetingComposers())
	for _, kind := range []register.TidingKind{register.TellRefused, register.TellLapsed, register.TellBroken} {
		all[kind] = composeNothing
	}
	return all
}

// with adds the composers of a noun to those there are.
func with(all map[register.TidingKind]composer, more map[register.TidingKind]composer) map[register.TidingKind]composer {
	maps.Copy(all, more)
	return all
}

func sentencesOf(swaps []register.Swap) string {
	each := make([]string, len(swaps))
	for i, s := range swaps {
		each[i] = s.Sentence() + ", " + s.When() + "."
	}
	return strings.Join(each, "\n")
}

func answerOf(p register.Proposal, member int64) string {
	for _, s := range p.Says {
		if s.Member == member {
			return s.Answer
		}
	}
	return ""
}

func ofNumber(request, field string, n int64) string {
	return request + " " + field + ":" + strconv.FormatInt(n, 10)
}

// composeProposed asks a member to agree, or asks again; nothing once they have answered.
func composeProposed(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	p, err := reg.Proposal(ctx, t.Subject)
	if err != nil || p.State != register.ProposalOpen || answerOf(p, t.Member) != "" {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Proposal %d: do you agree?", p.ID)
	if t.Kind == register.TellReminder {
		n.Title = fmt.Sprintf("Proposal %d still waits for your word", p.ID)
	}
	n.Text = sentencesOf(p.Swaps) + "\n\n" + fmt.Sprintf("It can be agreed until %s and becomes a swap once all whom it touches agree; until then its numbers are held back. One no ends it.", p.Expires.Long())
	agree := ofNumber("/swap agree", "proposal", p.ID)
	n.Next = []Offer{{"Agree", agree}, {"Refuse", agree + " answer:no"}}
	return n, true, nil
}

func composeAgreed(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	p, err := reg.Proposal(ctx, t.Subject)
	if err != nil {
		return n, false, err
	}
	mine := slices.DeleteFunc(p.Swaps, func(s register.Swap) bool {
		return s.Giver != t.Member && s.Receiver != t.Member || s.State != register.Agreed
	})
	n.Title = fmt.Sprintf("Proposal %d is agreed by all", p.ID)
	n.Text = sentencesOf(mine) + "\n\nWhoever hands over says /swap given; whoever receives says /swap received with the number that really came."
	for _, s := range mine {
		if s.Giver == t.Member {
			n.Next = append(n.Next, Offer{fmt.Sprintf("I have given swap %d", s.ID), ofNumber("/swap given", "swap", s.ID)})
		}
		n.Next = append(n.Next, meetOffers(s)...)
	}
	return n, len(mine) > 0, nil
}

// composeNothing tells that a proposal came to nothing, and why; not to whom ended it.
func composeNothing(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	p, err := reg.Proposal(ctx, t.Subject)
	if err != nil || answerOf(p, t.Member) == "no" {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Proposal %d came to nothing", p.ID)
	n.Text = sentencesOf(p.Swaps) + "\n\n" + upper(p.Why) + ". What it held back is free again."
	n.Next = []Offer{{"Find what fits now", "/swap match"}}
	return n, true, nil
}

func composeCancelled(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || s.State != register.SwapCanceled {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Swap %d comes to nothing", s.ID)
	n.Text = s.Sentence() + ".\n\n" + upper(s.Why) + "."
	switch {
	case s.Given > 0 && t.Member == s.Receiver:
		n.Text += fmt.Sprintf(" %d had been given: if they are with you, enter them with /stock add and new:yes.", s.Given)
	case s.Given > 0:
		n.Text += fmt.Sprintf(" %d had been given and still count in batch %s: if they do not come back, /stock count puts its number right.", s.Given, s.Mark)
	}
	n.Next = []Offer{{"Find what fits now", "/swap match"}}
	return n, true, nil
}

func composeDue(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || s.State != register.Agreed {
		return n, false, err
	}
	n.Title = fmt.Sprintf("To receive: swap %d", s.ID)
	if s.Giver == t.Member {
		n.Title = fmt.Sprintf("To hand over: swap %d", s.ID)
		n.Next = []Offer{{"I have given it", ofNumber("/swap given", "swap", s.ID)}}
	}
	n.Next = append(n.Next, meetOffers(s)...)
	n.Text = s.Sentence() + ", " + s.When() + "."
	if t.On >= s.Last {
		n.Text += " Today is the last day."
	}
	if s.Spot != "" {
		n.Text += " Handed over: " + s.Spot + "."
	}
	return n, true, nil
}

func composeGiven(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || s.State != register.HandedOver {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Swap %d: what did you receive?", s.ID)
	n.Text = fmt.Sprintf("%s says that you were given %s on %s. Say /swap received with the number that really came: only then do numbers move.", s.GiverName, s.What(), s.GivenOn.Long())
	if s.Given < s.Number {
		n.Text += fmt.Sprintf(" %d were agreed; what is missing is wanted again.", s.Number)
	}
	n.Next = []Offer{{fmt.Sprintf("All %d came", s.Given), ofNumber("/swap received", "swap", s.ID)}}
	return n, true, nil
}

// composeReceived tells the giver; a handover that came short says what that leaves.
func composeReceived(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || s.State != register.Arrived {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Swap %d was received", s.ID)
	n.Text = fmt.Sprintf("%s received %s on %s.", s.ToName, s.What(), s.ReceivedOn.Long())
	if s.Received < s.Given {
		n.Title = fmt.Sprintf("Swap %d came short", s.ID)
		n.Text += fmt.Sprintf(" You gave %d.", s.Given)
		if !s.Shoots {
			n.Text += fmt.Sprintf(" The others still count in batch %s: /stock count puts its number right if they are gone.", s.Mark)
		}
	}
	return n, true, nil
}

func composeCorrected(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || s.State != register.Arrived {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Swap %d was put right", s.ID)
	n.Text = fmt.Sprintf("%s. The reason: %s. The batches on both sides follow.", s.Sentence(), s.Why)
	return n, true, nil
}

func composeOfferGone(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	o, err := reg.Offer(ctx, t.Subject)
	if err != nil {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Offer %d ended", o.ID)
	n.Text = fmt.Sprintf("Batch %s can no longer give %s of %s: it went on to another stage. What it is now can be offered anew.", o.Mark, o.Stock.Of(o.Number), o.Name)
	return n, true, nil
}

func composeOfferEnds(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	o, err := reg.Offer(ctx, t.Subject)
	if err != nil || !o.Ended.IsZero() || o.Free == 0 {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Your offer of %s ends on %s", o.Name, o.Until.Long())
	n.Text = fmt.Sprintf("%s of offer %d found no taker yet. If they keep longer, offer them again with until:.", o.Stock.Of(o.Free), o.ID)
	n.Next = []Offer{{"Find what fits", "/swap match"}, {"Take it back", ofNumber("/swap withdraw", "offer", o.ID)}}
	return n, true, nil
}

func composeWantEnds(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	w, err := reg.Want(ctx, t.Subject)
	if err != nil || !w.Ended.IsZero() || w.Free == 0 {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Your want of %s ends on %s", w.What(), w.Last.Long())
	n.Text = fmt.Sprintf("%s of want %d found no giver yet. If they would serve longer, want them again with until:.", w.Stock.Of(w.Free), w.ID)
	n.Next = []Offer{{"Find what fits", "/swap match"}, {"Take it back", ofNumber("/swap withdraw", "want", w.ID)}}
	return n, true, nil
}

// composeRisk tells the group of a variety that it may lose; nothing once it is out of danger.
func composeRisk(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	k, is, err := reg.RiskOf(ctx, t.Coop, t.Subject)
	if err != nil || !is {
		return n, false, err
	}
	n.Title = k.Name + " is at risk"
	n.Text = k.Sentence()
	n.Next = []Offer{{"All varieties at risk", "/swap list show:risk"}}
	return n, true, nil
}
