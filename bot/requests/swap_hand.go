package requests

import (
	"context"
	"fmt"
	"slices"

	"shortday/bot"
	"shortday/knowledge/register"
)

// swapAgree records a yes, or a no which ends the proposal.
func (c counter) swapAgree(ctx context.Context, in *bot.In) (bot.Reply, error) {
	n, which, no := numbered(in, "proposal"), numbered(in, "which"), in.Has("answer") && !in.Yes("answer")
	why := in.Text("why")
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if no {
		p, err := c.reg.Refuse(ctx, actor, n, which, why)
		return bot.Reply{Title: fmt.Sprintf("Proposal %d refused", n), Private: true, Text: paragraphs(recordedFor(own, actor)+
			"It ends with that, and its numbers are free for others; those it touched are told. What was refused is not proposed again.", endsWith(p))}, err
	}
	p, err := c.reg.Agree(ctx, actor, n)
	if err != nil {
		return bot.Reply{}, err
	}
	if p.State == register.ProposalOpen {
		return bot.Reply{Title: fmt.Sprintf("Proposal %d: agreed by %s", p.ID, own.Name), Private: true,
			Text: recordedFor(own, actor) + fmt.Sprintf("%s. It waits for %s, until %s.", handoversOf(p.Swaps), listed(p.Silent()), p.Expires.Long())}, nil
	}
	heeded, err := c.heededIn(ctx, in, p.Swaps)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: fmt.Sprintf("Proposal %d is agreed by all", p.ID)}
	var text prose
	for _, s := range p.Swaps {
		text.add("Swap %d: %s, %s.%s", s.ID, s.Sentence(), s.When(), handedAt(s.Spot))
		reply.Next = append(reply.Next, nextWord(s, own)...)
		if s.Giver == own.ID || s.Receiver == own.ID {
			reply.Next = append(reply.Next, meetNext(s, in.Text("for"))...)
		}
	}
	text.add("/swap meet appoints day and hour of a handover, for both to be reminded.")
	text.add("Whoever hands over says /swap given; whoever receives says /swap received with the number that really came. Only then do numbers move.")
	text.add("%s", heeded)
	reply.Text = text.String()
	return reply, nil
}

func endsWith(p register.Proposal) string {
	if len(p.Swaps) < 2 {
		return ""
	}
	return "With it end " + plural(len(p.Swaps), "handover", "handovers") + ": " + handoversOf(p.Swaps) + "."
}

// heededIn is what there is to heed of each variety and of papers in a set of swaps, each once.
func (c counter) heededIn(ctx context.Context, in *bot.In, swaps []register.Swap) (string, error) {
	var all []string
	add := func(text string) {
		if text != "" && !slices.Contains(all, text) {
			all = append(all, text)
		}
	}
	for _, s := range swaps {
		v, err := c.reg.Variety(ctx, s.Variety)
		if err != nil {
			return "", err
		}
		from, err := c.reg.Seat(ctx, s.Giver)
		if err != nil {
			return "", err
		}
		to, err := c.reg.Seat(ctx, s.Receiver)
		if err != nil {
			return "", err
		}
		add(v.Caution(in.Today()))
		add(papersFor(from, to))
	}
	return paragraphs(all...), nil
}

func readTransfer(in *bot.In) register.Transfer {
	t := register.Transfer{Swap: numbered(in, "swap"), Number: in.Whole("number"), On: in.Day("on")}
	notAhead(in, "on", t.On)
	return t
}

func (c counter) swapGiven(ctx context.Context, in *bot.In) (bot.Reply, error) {
	t := readTransfer(in)
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	s, err := c.reg.Given(ctx, actor, t)
	if err != nil {
		return bot.Reply{}, err
	}
	rest := ""
	if s.Given < s.Number {
		rest = fmt.Sprintf("%d of %d: what is missing is free again, as offered and as wanted.", s.Given, s.Number)
	}
	count := ""
	if !s.Shoots {
		count = fmt.Sprintf(" Until then they count in batch %s.", s.Mark)
	}
	return bot.Reply{Title: fmt.Sprintf("Swap %d given", s.ID), Private: true,
		Text: paragraphs(recordedFor(own, actor)+fmt.Sprintf("%s on %s. Now %s says /swap received with the number that really came.%s", s.Sentence(), s.GivenOn.Long(), s.ToName, count), rest)}, nil
}

func (c counter) swapReceived(ctx context.Context, in *bot.In) (bot.Reply, error) {
	t := readTransfer(in)
	t.Spot, t.Note = in.Text("spot"), in.Text("note")
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	s, out, err := c.reg.Received(ctx, actor, t)
	if err != nil {
		return bot.Reply{}, err
	}
	b := out.Batches[0]
	h, err := c.reg.HoldOf(ctx, b.ID, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	return bot.Reply{Title: fmt.Sprintf("Swap %d received: batch %s", s.ID, b.Mark), Private: true,
		Text: paragraphs(recordedFor(own, actor)+fmt.Sprintf("%s They came from %s's batch %s, which the register remembers. Write %s on the label.", sentence(b), s.GiverName, s.Mark, b.Mark),
			shortWords(s), apartWords(h), movedWords(out.Moved, own.ID, pinch(seat))),
		Next: []bot.Next{{Label: "What to write on the label", Request: bot.Typed("/stock label", "batch", b.Mark)},
			{Label: "The number was another", Request: bot.Typed("/swap correct", "swap", id(s.ID), "for", in.Text("for"))}}}, nil
}

// shortWords says what a handover that came short, or long, leaves.
func shortWords(s register.Swap) string {
	switch {
	case s.Received < s.Given && s.Shoots:
		return fmt.Sprintf("%d of the %d given came; what did not is wanted again.", s.Received, s.Given)
	case s.Received < s.Given:
		return fmt.Sprintf("%d of the %d given came. What did not come still counts in batch %s, and is wanted again: %s puts that number right with /stock count if it is gone.",
			s.Received, s.Given, s.Mark, s.GiverName)
	case s.Received > s.Given:
		return fmt.Sprintf("That is %d more than were given.", s.Received-s.Given)
	}
	return ""
}

func (c counter) swapCancel(ctx context.Context, in *bot.In) (bot.Reply, error) {
	n, why := numbered(in, "swap"), in.Text("why")
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	s, also, err := c.reg.Cancel(ctx, actor, n, why)
	if err != nil {
		return bot.Reply{}, err
	}
	rest := ""
	if len(also) > 0 {
		rest = "What rested on it and was not given yet ends with it: " + handoversOf(also) + "."
	}
	return bot.Reply{Title: fmt.Sprintf("Swap %d cancelled", s.ID), Private: true,
		Text: paragraphs(recordedFor(own, actor)+fmt.Sprintf("%s: that comes to nothing. Its numbers are free again, and both are told why. It is not proposed again.", s.Sentence()), rest)}, nil
}

func (c counter) swapCorrect(ctx context.Context, in *bot.In) (bot.Reply, error) {
	n, number, why := numbered(in, "swap"), in.Whole("number"), in.Text("why")
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	before, err := c.reg.Swap(ctx, n)
	if err != nil {
		return bot.Reply{}, err
	}
	s, err := c.reg.Correct(ctx, actor, n, number, why)
	if err != nil {
		return bot.Reply{}, err
	}
	var words []string
	for _, batch := range []int64{s.Batch, s.Made} {
		if batch == 0 {
			continue
		}
		b, err := c.reg.Batch(ctx, batch)
		if err != nil {
			return bot.Reply{}, err
		}
		words = append(words, "Batch "+batchWords(b)+".")
	}
	return bot.Reply{Title: fmt.Sprintf("Swap %d put right", s.ID), Private: true,
		Text: paragraphs(recordedFor(own, actor)+fmt.Sprintf("%d received, not %d. Both keep the reason: %s.", s.Received, before.Received, why), sentences(words))}, nil
}
