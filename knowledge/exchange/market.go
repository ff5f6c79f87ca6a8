// Package exchange finds who gives what to whom. A unit is one stool, cutting or plant that goes from an offer to a
// want of another member, of a variety the want takes, in the form of stock it asks for, ready on or before the want's
// last day, unless one of the two refused just that. Of all sets of units within the numbers of offers, of the batches
// they are part of and of wants, and, where the co-op shares in balance, with no member's received − given above the
// credit limit (or above where it stood, for one already past it), Match finds one that places the most units; among
// those, one with the greatest sum of urgency, which is 26 less the whole weeks left to the want's last day, never below
// 0; among those, one that brings the most units to members who had given more than they received. The three are
// compared in that order, as a tuple.
// Storage, agreement and what is held back for health are left to others.
package exchange

import (
	"cmp"
	"slices"

	"shortday/knowledge/calendar"
)

// Stock is the form in which plants change hands.
type Stock string

// The forms of stock.
const (
	Stools   Stock = "stools"
	Unrooted Stock = "unrooted cuttings"
	Rooted   Stock = "rooted cuttings"
	Plants   Stock = "plants"
)

// Market is all that is offered and wanted in a co-op on a day. What is held back, for health or by an open proposal,
// is not in it. Ids are the caller's own, offers and wants each numbered once.
type Market struct {
	Today   calendar.Day
	Offers  []Offer
	Wants   []Want
	Batches map[int64]int    // what a batch can give through all its offers; one not named gives what they say
	Ledgers map[int64]Ledger // by member; one not named has neither given nor received
	Refused []Pair           // nothing goes from the offer to the want of any of them
	Sharing Sharing
}

// Pair is an offer and a want, by their ids.
type Pair struct{ Offer, Want int64 }

// Offer is a part of a batch that its member gives away.
type Offer struct {
	ID, Member, Batch int64
	Variety           int64
	Stock             Stock
	Number            int
	From              calendar.Day // first day it can be handed over
	Until             calendar.Day // last day; none where it keeps
}

// Want is a number of plants that a member can use until a day.
type Want struct {
	ID, Member int64
	Varieties  []int64 // any of these serves, alone or mixed
	Stock      Stock
	Number     int
	Last       calendar.Day // last day on which it still serves its target
}

// Ledger is what a member has given and received so far, in units; agreed swaps that are still to come count as done.
type Ledger struct {
	Given, Received int
}

// Sharing is the co-op's rule: freely, or in balance within a credit of so many units a member.
type Sharing struct {
	Balanced bool
	Credit   int // received − given may reach this; counts only in balance
}

// Score is the worth of a set of handovers, most important first.
type Score struct {
	Units   int // placed
	Urgency int // summed over units
	Owed    int // units to members who had given more than they received
}

// maxWeeks is where urgency ends: a want so far away or further is not urgent at all.
const maxWeeks = 26

// Urgency gives what a unit placed with a want counts today: 26 − whole weeks to its last day, at least 0.
func Urgency(today, last calendar.Day) int {
	return max(0, maxWeeks-max(0, last.Sub(today))/7)
}

// Compare gives -1, 0 or +1 by the first objective in which they differ.
func (s Score) Compare(t Score) int {
	return cmp.Or(cmp.Compare(s.Units, t.Units), cmp.Compare(s.Urgency, t.Urgency), cmp.Compare(s.Owed, t.Owed))
}

// Plus adds objective by objective.
func (s Score) Plus(t Score) Score {
	return Score{s.Units + t.Units, s.Urgency + t.Urgency, s.Owed + t.Owed}
}

// Minus subtracts objective by objective.
func (s Score) Minus(t Score) Score {
	return Score{s.Units - t.Units, s.Urgency - t.Urgency, s.Owed - t.Owed}
}

// times gives the score of n such.
func (s Score) times(n int) Score { return Score{s.Units * n, s.Urgency * n, s.Owed * n} }

func (s Score) cost() cost { return cost{int32(s.Units), int32(s.Urgency), int32(s.Owed)} }

func (c cost) score() Score { return Score{int(c[0]), int(c[1]), int(c[2])} }

// worth gives the score of one unit placed with a want.
func (m *Market) worth(w *Want) Score {
	s := Score{Units: 1, Urgency: Urgency(m.Today, w.Last)}
	if l := m.Ledgers[w.Member]; l.Given > l.Received {
		s.Owed = 1
	}
	return s
}

// slack gives by how much a member's received − given may grow.
func (m *Market) slack(member int64) int {
	l := m.Ledgers[member]
	return max(0, m.Sharing.Credit-(l.Received-l.Given))
}

// live gives the market without what has ended or is used up, in an order that does not depend on the caller's.
func (m Market) live() Market {
	m.Offers = slices.DeleteFunc(slices.Clone(m.Offers), func(o Offer) bool {
		holds, counted := m.Batches[o.Batch]
		ended := !o.Until.IsZero() && o.Until < max(o.From, m.Today)
		return o.Number <= 0 || counted && holds <= 0 || ended
	})
	slices.SortFunc(m.Offers, func(a, b Offer) int { return cmp.Compare(a.ID, b.ID) })
	m.Wants = slices.DeleteFunc(slices.Clone(m.Wants), func(w Want) bool {
		return w.Number <= 0 || w.Last < m.Today
	})
	slices.SortFunc(m.Wants, func(a, b Want) int { return cmp.Compare(a.ID, b.ID) })
	return m
}
