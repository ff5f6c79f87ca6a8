package requests

import (
	"context"
	"fmt"
	"strings"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func (c counter) stockCount(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if !in.Has("number") {
		if in.Has("died") {
			return bot.Reply{}, fault.New(fault.Unclear, "How many are there now? Add number: to say it.")
		}
		return c.explain(ctx, in, c.seat(ctx, in), false)
	}
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	b := c.batch(ctx, in, seat.Coop.ID, "batch")
	t := register.Tally{Batch: b.ID, Number: in.Whole("number"), On: in.Day("on"), Died: in.Yes("died"), Reason: in.Text("why")}
	notAhead(in, "on", t.On)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	out, err := c.reg.Count(ctx, actor, t)
	if err != nil {
		return bot.Reply{}, err
	}
	left, err := c.leftOf(ctx, in, seat, own, b)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: "Batch " + b.Mark + ": " + b.Name, Private: true}
	reply.Text = paragraphs(recordedFor(own, actor)+countSentence(b, t), left, movedWords(out.Moved, own.ID, pinch(seat)))
	if t.Number < b.Count && !in.Has("died") {
		reply.Text = paragraphs(reply.Text, "If the missing ones died, take this back and count again with died:yes, so that the rates of /raise learn from it.")
		reply.Next = []bot.Next{{Label: "Take it back", Request: bot.Typed("/job undo", "reason", "they died", "which", fmt.Sprint(out.Event.ID), "for", in.Text("for"))}}
	}
	s, err := c.stools(ctx, in, seat, own, b.Variety, 0)
	switch {
	case err != nil:
		return bot.Reply{}, err
	case isStools(b) && s.spare() < 0:
		reply.Next = append(reply.Next, wantNext(b.Name, -s.spare()))
		return reply, nil
	}
	next, err := c.spareNext(ctx, in, seat, own, b.Variety)
	reply.Next = append(reply.Next, next...)
	return reply, err
}

func countSentence(before register.Batch, t register.Tally) string {
	missing := before.Count - t.Number
	switch {
	case missing == 0:
		return fmt.Sprintf("Batch %s has %d, as it should.", before.Mark, t.Number)
	case missing < 0:
		return fmt.Sprintf("Batch %s has %d, %d more than recorded: kept as counted wrongly before.", before.Mark, t.Number, -missing)
	case t.Died:
		return fmt.Sprintf("Batch %s has %d left; %s, which the rates of /raise learn from.", before.Mark, t.Number, plural(missing, "died", "died"))
	}
	return fmt.Sprintf("Batch %s has %d, %d fewer than recorded: kept as counted wrongly before.", before.Mark, t.Number, missing)
}

// explain tells how a batch's number came about, in a picture too where one is wanted, and where its plants came from.
func (c counter) explain(ctx context.Context, in *bot.In, seat register.Seat, chart bool) (bot.Reply, error) {
	b := c.batch(ctx, in, seat.Coop.ID, "batch")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	deeds, err := c.reg.Explain(ctx, b.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	line, err := c.reg.Ancestors(ctx, b.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: "Batch " + b.Mark + ": " + b.Name, Private: b.Member == seat.Member.ID, Rows: bot.Table{Columns: bot.Columns("on", "what", "change", "left", "who", "note")}}
	left := 0
	for _, d := range deeds {
		who, note := d.Event.ByName, d.Event.Note
		change, now := bot.Whole(d.Delta), bot.Cell{}
		if d.Event.UndoneAt.IsZero() {
			left += d.Delta
			now = bot.Whole(left)
		} else {
			change, note = bot.Cell{}, joined(note, "undone by "+d.Event.UndoneBy+": "+d.Event.UndoneWhy)
		}
		if d.Event.By != d.Event.Member {
			who = joined(who, "for "+d.Event.Owner)
		}
		reply.Rows.Add(bot.Day(d.Event.On), bot.Text(deedName(d, pinch(seat))), change, now, textCell(who), textCell(note))
	}
	state := sentence(b)
	if !b.Live() {
		state = "None are left since " + b.Ended.Long() + "."
	}
	reply.Text = paragraphs(state+ofWhom(b, seat), lineage(line))
	if !chart {
		return reply, nil
	}
	file, err := c.countChart(ctx, reply.Title, []register.Batch{b}, pinch(seat))
	reply.Files = append(reply.Files, file)
	return reply, err
}

func joined(note, more string) string {
	return strings.TrimPrefix(note+", "+more, ", ")
}

// deedName names what changed a number by the step that did, where one did.
func deedName(d register.CountDeed, pinch bool) string {
	if d.Event.Step != "" && d.Kind != register.Lost {
		return string(d.Kind) + " (" + d.Event.Step.Name(pinch) + ")"
	}
	return string(d.Kind)
}

func ofWhom(b register.Batch, seat register.Seat) string {
	switch b.Member {
	case seat.Member.ID:
		return ""
	case 0:
		return " Its member has left the co-op."
	}
	return " They are " + b.Owner + "'s."
}

// lineage follows plants back to where they came from, as far as that was recorded.
func lineage(line []register.Batch) string {
	if len(line) == 0 {
		return "Where they came from was not recorded."
	}
	each := make([]string, len(line))
	for i, b := range line {
		each[i] = b.Mark
		if b.Owner != "" {
			each[i] += " (" + b.Owner + ", " + b.Made.Long() + ")"
		}
	}
	return "They came from " + strings.Join(each, ", from ") + "."
}
