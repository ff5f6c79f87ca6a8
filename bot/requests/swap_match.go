package requests

import (
	"context"
	"fmt"
	"strings"

	"shortday/bot"
	"shortday/knowledge/exchange"
	"shortday/knowledge/register"
)

// swapMatch finds the best set of handovers, and puts it to its members where that is asked for.
func (c counter) swapMatch(ctx context.Context, in *bot.In) (bot.Reply, error) {
	propose := in.Yes("propose")
	seat := c.seat(ctx, in)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if propose {
		return c.propose(ctx, in, seat)
	}
	if err := c.reg.Lapse(ctx, seat.Coop.ID, in.At); err != nil {
		return bot.Reply{}, err
	}
	m, err := c.reg.Match(ctx, seat.Coop.ID, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	names, err := c.memberNames(ctx, seat.Coop.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: "The best set of handovers today", Rows: matchTable(m, names)}
	reply.Text = paragraphs(placedWords(m), whyOpen(m), oneMoreWords(m), waitingWords(m))
	if len(m.Proposals) > 0 {
		reply.Next = []bot.Next{{Label: "Put it to the members it touches", Request: bot.Typed("/swap match", "propose", "yes")}}
	}
	return reply, nil
}

func (c counter) propose(ctx context.Context, in *bot.In, seat register.Seat) (bot.Reply, error) {
	m, made, err := c.reg.Propose(ctx, register.Actor{Member: seat.Member.ID, At: in.At})
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: "Put to the members"}
	if len(made) == 0 {
		reply.Text = paragraphs("Nothing more can be handed over now, so nothing was proposed.", whyOpen(m), waitingWords(m))
		return reply, nil
	}
	var text prose
	shown, more := atMost(made)
	for _, p := range shown {
		text.add("Proposal %d, to be agreed until %s: %s.", p.ID, p.Expires.Long(), handoversOf(p.Swaps))
		for _, s := range p.Says {
			if s.Member == seat.Member.ID && len(reply.Next) < 8 {
				reply.Next = append(reply.Next, bot.Next{Label: fmt.Sprintf("Agree to proposal %d", p.ID), Request: bot.Typed("/swap agree", "proposal", id(p.ID))},
					bot.Next{Label: fmt.Sprintf("Refuse proposal %d", p.ID), Request: bot.Typed("/swap agree", "proposal", id(p.ID), "answer", "no")})
			}
		}
	}
	text.add("%s", more)
	text.add("Each becomes a swap once all whom it touches agree; they are told. Until then the numbers are held back from other proposals.")
	reply.Text = text.String()
	return reply, nil
}

func (c counter) memberNames(ctx context.Context, coop int64) (map[int64]string, error) {
	members, err := c.reg.Members(ctx, coop)
	names := make(map[int64]string, len(members))
	for _, m := range members {
		names[m.ID] = m.Name
	}
	return names, err
}

// matchTable has a row a handover, in the order in which each follows from the one before.
func matchTable(m register.Match, names map[int64]string) bot.Table {
	if len(m.Proposals) == 0 {
		return bot.Table{}
	}
	rows := bot.Table{Columns: bot.Columns("set", "who", "gives", "to", "from", "until")}
	for i, p := range m.Proposals {
		for _, h := range p.Handovers {
			rows.Add(bot.Whole(i+1), bot.Text(names[h.Giver]), bot.Text(h.Stock.Of(h.Number)+" of "+m.Varieties[h.Variety].Name), bot.Text(names[h.Receiver]), bot.Day(h.First), bot.Day(h.Last))
		}
	}
	return rows
}

// placedWords says how much can be handed over, in what sets.
func placedWords(m register.Match) string {
	wanted := 0
	for _, w := range m.Wants {
		wanted += w.Free
	}
	switch {
	case wanted == 0 && len(m.Offers) == 0 && m.Waiting > 0:
		return "All that is offered or wanted is in a proposal already."
	case wanted == 0 && len(m.Offers) == 0:
		return "Nothing is offered and nothing wanted. Begin with /swap offer or /swap want."
	case wanted == 0:
		return "Nothing is wanted that nobody is promised already. /swap want says what you would like."
	case len(m.Proposals) == 0:
		return fmt.Sprintf("Of %s wanted none can be handed over now.", plural(wanted, "unit", "units"))
	}
	gifts, rings, chains := 0, 0, 0
	for _, p := range m.Proposals {
		switch {
		case p.Ring():
			rings++
		case len(p.Handovers) > 1:
			chains++
		default:
			gifts++
		}
	}
	var sets []string
	for _, s := range []struct {
		n         int
		one, many string
	}{{gifts, "gift", "gifts"}, {rings, "ring", "rings"}, {chains, "chain", "chains"}} {
		if s.n > 0 {
			sets = append(sets, plural(s.n, s.one, s.many))
		}
	}
	return fmt.Sprintf("Of %s wanted %d can be handed over: %s. More is not possible; where there was a choice, the most urgent wants came first, then members who gave more than they received.",
		plural(wanted, "unit", "units"), m.Score.Units, listed(sets))
}

// whyOpen says of each want that stays open why it does.
func whyOpen(m register.Match) string {
	shown, more := atMost(m.Open)
	var words []string
	for _, o := range shown {
		w := m.Wants[o.Want]
		words = append(words, fmt.Sprintf("%s still wants %s of %s: %s.", w.Owner, w.Stock.Of(o.Number), w.What(), reasonWords(o.Why)))
	}
	if more != "" {
		words = append(words, fmt.Sprintf("And %d wants more.", len(m.Open)-mostListed))
	}
	return strings.Join(words, "\n")
}

func reasonWords(r exchange.Reason) string {
	switch r {
	case exchange.NoneOffered:
		return "nobody else offers that"
	case exchange.Declined:
		return "what is offered was refused or not answered"
	case exchange.TooLate:
		return "what is offered is ready only after the last day"
	case exchange.Placed:
		return "all that is offered goes where it counts as much or more"
	}
	return "the co-op shares in balance and their credit does not cover it; it takes a ring that leads back to the giver, or an offer of theirs that somebody takes"
}

// oneMoreWords says what one offer more would free.
func oneMoreWords(m register.Match) string {
	var words []string
	told := map[int64]bool{}
	for _, more := range m.OneMore {
		w := m.Wants[more.Want]
		if told[w.ID] || len(told) == 3 {
			continue
		}
		told[w.ID] = true
		freed := "it would go to " + w.Owner
		if more.Frees.Units > 1 {
			freed += fmt.Sprintf(", and %d units in all could be handed over", more.Frees.Units)
		} else if more.Frees.Units == 0 {
			freed += ", in place of what then serves a more urgent want"
		}
		words = append(words, fmt.Sprintf("One %s of %s more: %s.", strings.TrimPrefix(more.Stock.Of(1), "1 "), m.Varieties[more.Variety].Name, freed))
	}
	return sentences(words)
}

func waitingWords(m register.Match) string {
	if m.Waiting == 0 {
		return ""
	}
	return plural(m.Waiting, "proposal waits", "proposals wait") + " to be agreed; what they hold back is in no other until then."
}
