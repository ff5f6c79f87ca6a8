package requests

import (
	"context"
	"fmt"
	"strconv"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
	"shortday/knowledge/register"
)

// healthClear ends a hold; without a batch or a report it lists what of the member's is held.
func (c counter) healthClear(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	b := c.batch(ctx, in, seat.Coop.ID, "batch")
	report, reason := in.Whole("report"), in.Text("reason")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	switch {
	case b.ID == 0 && report == 0 && reason == "":
		return c.heldList(ctx, in, seat, own)
	case b.ID == 0 && report == 0:
		return bot.Reply{}, fault.New(fault.Unclear, "What is cleared? Add batch: for one batch, or report: for all that a report of yours holds.")
	case b.ID != 0 && report != 0:
		return bot.Reply{}, fault.New(fault.Unclear, "Give batch: for one batch or report: for all that it holds; leave one of them out.")
	case reason == "":
		return bot.Reply{}, fault.New(fault.Unclear, "Why is it cleared? Add reason: with what was found, for the record and for those who were told.")
	}
	var out register.Freed
	var err error
	if report != 0 {
		out, err = c.reg.ClearReport(ctx, actor, int64(report), reason)
	} else {
		out, err = c.reg.ClearBatch(ctx, actor, b.ID, reason)
	}
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: titleOf(seat, own) + "Cleared: " + some(marksOf(out.Batches), 3), Private: true}
	if report != 0 {
		reply.Title = titleOf(seat, own) + fmt.Sprintf("Cleared: report %d, %s", report, out.Reports[0].PestName())
	}
	var text prose
	freed := ""
	if len(out.Batches) > 0 {
		freed = fmt.Sprintf("No longer held back: %s. ", some(marksOf(out.Batches), 6))
	}
	text.add("%s", recordedFor(own, actor)+freed+fmt.Sprintf("Reason: %s.", reason))
	still, err := c.stillHeld(ctx, in, out.Still)
	if err != nil {
		return bot.Reply{}, err
	}
	text.add("%s", still)
	for i, b := range out.Still {
		if i < 3 {
			reply.Next = append(reply.Next, bot.Next{Label: "Clear " + b.Mark, Request: bot.Typed("/health clear", "batch", b.Mark, "for", in.Text("for"))})
		}
	}
	if out.Told > 0 {
		text.add("%s told of it.", plural(out.Told, "member who knew of it is", "members who knew of it are"))
	}
	for _, rep := range out.Reports {
		if report == 0 && rep.Member == own.ID && !rep.Over {
			number := strconv.FormatInt(rep.ID, 10)
			text.add("What else report %s holds stays held.", number)
			reply.Next = append(reply.Next, bot.Next{Label: "Clear all that report " + number + " holds", Request: bot.Typed("/health clear", "report", number, "reason", reason, "for", in.Text("for"))})
		}
	}
	reply.Text = text.String()
	reply.Next = append(reply.Next, bot.Next{Label: "That was a mistake", Request: bot.Typed("/job undo", "which", strconv.FormatInt(out.Event.ID, 10), "for", in.Text("for"))})
	return reply, nil
}

// stillHeld names what holds plants back yet, after one report's holds were cleared.
func (c counter) stillHeld(ctx context.Context, in *bot.In, batches []register.Batch) (string, error) {
	var words []string
	for _, b := range batches {
		h, err := c.reg.HoldOf(ctx, b.ID, in.Today())
		if err != nil {
			return "", err
		}
		words = append(words, fmt.Sprintf("%s (%s) until %s (%s)", b.Mark, b.Name, h.Last.Long(), holdWords(h)))
	}
	if len(words) == 0 {
		return "", nil
	}
	return "Still held back: " + some(words, 6) + ".", nil
}

// heldList lists what of a member's is held back, why and until when.
func (c counter) heldList(ctx context.Context, in *bot.In, seat register.Seat, own register.Member) (bot.Reply, error) {
	held, err := c.reg.Held(ctx, own.ID, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	holds, err := c.reg.Holds(ctx, own.ID, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: titleOf(seat, own) + "Held back", Private: true, Text: "Nothing is held back."}
	if len(held) == 0 {
		return reply, nil
	}
	reply.Text = "Look at them weekly; /job done look records it. They may be passed on from the day after, or once cleared with a reason."
	reply.Rows.Columns = bot.Columns("batch", "variety", "why", "until")
	batches := map[int64]register.Batch{}
	for _, b := range held {
		batches[b.ID] = b
	}
	for _, h := range holds {
		b := batches[h.Batch]
		reply.Rows.Add(bot.Text(b.Mark), bot.Text(b.Name), bot.Text(holdWords(h)), bot.Day(h.Last))
	}
	for i, b := range held {
		if i == 3 {
			break
		}
		reply.Next = append(reply.Next, bot.Next{Label: "Clear " + b.Mark, Request: bot.Typed("/health clear", "batch", b.Mark, "for", in.Text("for"))})
	}
	return reply, nil
}

func holdWords(h register.Hold) string {
	if h.Why == register.HeldApart {
		return "new, stands apart"
	}
	pest := "a pest"
	if p, ok := health.PestOf(h.Pest); ok && p.Key != health.Other {
		pest = p.Name
	}
	if h.Why == register.HeldSeen {
		return fmt.Sprintf("%s seen on it, report %d", pest, h.Report)
	}
	return fmt.Sprintf("kin of what has %s, report %d", pest, h.Report)
}
