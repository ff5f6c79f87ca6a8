package requests

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/crop"
)

func (c counter) whenStop(ctx context.Context, in *bot.In) (bot.Reply, error) {
	r := c.reckoning(ctx, in)
	r.readClimate(in)
	r.readEquipment(in, map[string]*bool{"cover": &r.Place.Cover, "black-out": &r.Place.BlackOut, "lights": &r.Place.Lights})
	if on := in.Day("struck"); on != 0 {
		r.Done = []crop.Done{{Kind: crop.Strike, On: on}}
	}
	plan, err := r.backwards(in)
	if err != nil {
		return bot.Reply{}, err
	}
	word := crop.Stop.Name(pinch(r.seat))
	if plan.Refusal != nil {
		return r.refused(in, "When to "+word, plan), nil
	}
	reply := bot.Reply{Title: r.titled("When to " + word), Rows: bot.Table{Columns: stepColumns()}}
	text := []string{plan.Missed}
	for _, s := range plan.Steps {
		if s.Kind != crop.Stop && s.Kind != crop.SecondStop {
			continue
		}
		reply.Rows.Add(stepRow(s, pinch(r.seat))...)
		if plan.Missed == "" {
			text = append(text, stopSentence(s, pinch(r.seat)))
		}
	}
	text = append(text, wayOf(plan), whenSentence(plan.Bloom), sentences(plan.Warnings), r.placeless())
	reply.Text = paragraphs(text...)
	reply.Next = r.onwards(in)
	return reply, nil
}

// backwards plans for the field bloom, after which the first fault is given.
func (r *reckoning) backwards(in *bot.In) (crop.Plan, error) {
	bloom := in.Day("bloom")
	if err := in.Err(); err != nil {
		return crop.Plan{}, err
	}
	r.Wanted = crop.Target{From: bloom, To: bloom}
	return crop.Backwards(r.Case, in.Today()), nil
}

func stopSentence(s crop.Step, pinch bool) string {
	text := fmt.Sprintf("%s about %s.", upper(s.Kind.Phrase(pinch)), s.Window.Likely.Long())
	if s.LastSafe >= s.Window.Likely {
		text += fmt.Sprintf(" The last safe day for it is %s; after that %s.", s.LastSafe.Long(), s.Lost)
	}
	return text
}

// wayOf says what the plan needs beside the stop.
func wayOf(plan crop.Plan) string {
	var steps []string
	for _, s := range plan.Steps {
		switch s.Kind {
		case crop.BlackOut, crop.BlackOutEnd, crop.Light, crop.LightEnd:
			text := s.Kind.Phrase(false) + " about " + s.Window.Likely.Long()
			if s.Clock != "" {
				text += " (" + s.Clock + ")"
			}
			steps = append(steps, text)
		}
	}
	if len(steps) == 0 {
		return ""
	}
	return upper(strings.Join(steps, ", ")) + "."
}

// refused answers that a bloom cannot be met, with the nearest day that can.
func (r reckoning) refused(in *bot.In, title string, plan crop.Plan) bot.Reply {
	reply := bot.Reply{Title: r.titled(title), Text: paragraphs("You asked for "+r.Wanted.From.Long()+". "+plan.Refusal.Why, sentences(plan.Warnings), r.placeless())}
	if nearest := plan.Refusal.Nearest; nearest > in.Today() {
		nearer := bot.Ask{Request: in.Request, Fields: slices.Clone(in.Fields)}
		for i, e := range nearer.Fields {
			if e.Field == "bloom" {
				nearer.Fields[i].Text = nearest.String()
			}
		}
		reply.Next = []bot.Next{{Label: "The nearest day that works, " + nearest.Long(), Request: nearer.String()}}
	}
	return reply
}

// onwards offers the other steps that lead to the same bloom, and to aim at it.
func (r reckoning) onwards(in *bot.In) []bot.Next {
	bloom := r.Wanted.From.String()
	var next []bot.Next
	for _, other := range []struct{ label, request string }{{"When to wake for it", "/when wake"}, {"When to cut for it", "/when cut"}, {"When to stop for it", "/when stop"}} {
		if other.request != in.Request {
			next = append(next, bot.Next{Label: other.label, Request: again(in, other.request, "bloom", bloom)})
		}
	}
	if in.Has("variety") {
		next = append(next, bot.Next{Label: "Aim at this bloom", Request: bot.Typed("/target set", "variety", r.name, "bloom", bloom)})
	}
	return next
}

// again prepares a request about the same plant at the same place with what that has.
func again(in *bot.In, request string, pairs ...string) string {
	same := []string{"variety", "class", "season", "section", "response", "place", "cover", "black-out", "lights"}
	for _, e := range in.Fields {
		if slices.Contains(same, e.Field) {
			pairs = append(pairs, e.Field, e.Text)
		}
	}
	return bot.Typed(request, pairs...)
}
