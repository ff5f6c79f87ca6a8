package requests

import (
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

func (c counter) whenCut(ctx context.Context, in *bot.In) (bot.Reply, error) {
	return c.whenStart(ctx, in, "woken", crop.Cut, func(r reckoning, woken calendar.Window) []crop.Step {
		return []crop.Step{crop.CutAfter(woken, r.Place)}
	})
}

func (c counter) whenWake(ctx context.Context, in *bot.In) (bot.Reply, error) {
	return c.whenStart(ctx, in, "cut", crop.Wake, func(r reckoning, cut calendar.Window) []crop.Step {
		return crop.WakeFor(cut, r.Place)
	})
}

// whenStart answers with one step of the spring: from the day in a field by a rule alone, else from the bloom wanted.
func (c counter) whenStart(ctx context.Context, in *bot.In, field string, kind crop.Kind, by func(reckoning, calendar.Window) []crop.Step) (bot.Reply, error) {
	r := c.reckoning(ctx, in)
	r.readEquipment(in, map[string]*bool{"bottom-heat": &r.Place.BottomHeat, "cover": &r.Place.Cover, "black-out": &r.Place.BlackOut, "lights": &r.Place.Lights})
	on := in.Day(field)
	if in.Has(field) == in.Has("bloom") {
		in.Fail(fault.New(fault.Unclear, "Tell me one of two days: %s: (%s) or bloom: (the day on which it is to bloom).", field, map[string]string{
			"woken": "the day on which the stools are woken", "cut": "the day on which cuttings are wanted"}[field]))
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: r.titled("When to " + kind.Phrase(false)), Rows: bot.Table{Columns: stepColumns()}}
	var plan crop.Plan
	steps := by(r, calendar.On(on))
	if on == 0 {
		var err error
		if plan, err = r.backwards(in); err != nil {
			return bot.Reply{}, err
		}
		if plan.Refusal != nil {
			return r.refused(in, "When to "+kind.Phrase(false), plan), nil
		}
		steps = plan.Steps
		reply.Next = r.onwards(in)
	}
	text := []string{plan.Missed}
	for _, s := range steps {
		if s.Kind == kind {
			reply.Rows.Add(stepRow(s, false)...)
			text = append(text, startSentence(s))
		}
	}
	if on == 0 {
		text = append(text, whenSentence(plan.Bloom), sentences(plan.Warnings), r.placeless())
	}
	reply.Text = paragraphs(text...)
	return reply, nil
}

// startSentence says the step, its rule, and the watering that goes before it.
func startSentence(s crop.Step) string {
	before := "Water the stools the day before: never cut from a dry plant."
	if s.Kind == crop.Wake {
		before = "Water the resting box on the evening before."
	}
	about := "about " + s.Window.Likely.Long()
	if !s.Window.Known() {
		about += fmt.Sprintf(", between %s and %s", s.Window.Earliest.Long(), s.Window.Latest.Long())
	}
	return fmt.Sprintf("%s %s: %s (%s). %s", upper(s.Kind.Phrase(false)), about, s.Rule, s.Source, before)
}
