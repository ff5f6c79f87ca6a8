package requests

import (
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
)

func (c counter) whenBloom(ctx context.Context, in *bot.In) (bot.Reply, error) {
	r := c.reckoning(ctx, in)
	r.readClimate(in)
	var from []string
	for _, d := range bloomFrom() {
		if on := in.Day(d.field); on != 0 {
			r.Done = append(r.Done, crop.Done{Kind: d.kind, On: on})
			from = append(from, d.said+" "+on.Long())
		}
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	f := crop.Forwards(r.Case, in.Today())
	reply := bot.Reply{Title: r.titled("Bloom")}
	if f.Window.IsZero() {
		reply.Text = paragraphs("No day can be told from this. Name the variety or its class, or tell what was seen: shortdays: with response:, stopped:, taken: or colour:.",
			sentences(f.Warnings), r.placeless())
		return reply, nil
	}
	reply.Rows.Columns = stepColumns()
	reply.Rows.Add(bot.Text("bloom"), bot.Day(f.Window.Earliest), bot.Day(f.Window.Likely), bot.Day(f.Window.Latest), bot.Text(string(f.Basis)))
	reply.Text = paragraphs(whenSentence(f), reckonedFrom(from, in.Today()))
	if f.Basis != crop.Colour { // colour that was seen makes all doubts about season and place idle
		reply.Text = paragraphs(reply.Text, sentences(f.Warnings), r.placeless())
	}
	bloom := f.Window.Likely.String()
	if in.Has("variety") && !r.seat.Zero() {
		reply.Next = append(reply.Next,
			bot.Next{Label: "What was recorded for your own plants", Request: bot.Typed("/plan show", "variety", r.name)},
			bot.Next{Label: "Aim at this bloom", Request: bot.Typed("/target set", "variety", r.name, "bloom", bloom)})
	}
	if len(from) == 0 {
		reply.Next = append(reply.Next, bot.Next{Label: "When to stop for it", Request: again(in, "/when stop", "bloom", bloom)})
	}
	return reply, nil
}

// whenSentence says when the bloom comes, how far that may be off and what it rests on.
func whenSentence(f crop.Forecast) string {
	if f.Window.Known() {
		return fmt.Sprintf("The bloom is on %s: %s.", f.Window.Likely.Long(), f.Why)
	}
	return fmt.Sprintf("The bloom is likely about %s; nine times in ten it comes between %s and %s. This rests on %s.",
		f.Window.Likely.Long(), f.Window.Earliest.Long(), f.Window.Latest.Long(), f.Why)
}

func reckonedFrom(from []string, today calendar.Day) string {
	if len(from) == 0 {
		return "It is the natural bloom of the season that " + today.Long() + " belongs to; tell what was done, such as stopped:, for a nearer reckoning."
	}
	return "Reckoned from " + listed(from) + "."
}
