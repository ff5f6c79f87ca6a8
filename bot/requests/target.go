package requests

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func target(c counter) bot.Family {
	named := bot.Field{Name: "target", Help: "a target of yours, such as Saltmarsh 2027-11-05", Kind: bot.NamedKind, Required: true, Bare: true, Complete: c.completeTargets}
	return bot.Family{Name: "target", Help: "The blooms you aim at: a variety, a day and a number of stems", Requests: []bot.Request{
		{
			Name: "set", Help: "Aim at a bloom, and have every date and job that leads to it",
			Examples: []string{"/target set variety:Saltmarsh bloom:\"5 nov\" stems:40", "/target set variety:Saltmarsh bloom:\"all saints\" until:\"8 nov\" stems:120 way:natural"},
			Fields: []bot.Field{
				c.varietyField(true),
				{Name: "bloom", Help: "the day it is to bloom, or a sales day such as all saints", Kind: bot.DayKind, Required: true},
				{Name: "stems", Counts: []string{"stem"}, Help: "how many stems you want", Kind: bot.WholeKind, Min: new(1.0), Max: new(100000.0)},
				{Name: "until", Help: "the last day that still serves, where any of some days will do", Kind: bot.DayKind},
				{Name: "way", Help: "how it is to be brought to bloom", Kind: bot.ChoiceKind, Choices: []bot.Choice{
					{Label: "whatever works here", Value: "any"}, {Label: "natural season", Value: "natural"},
					{Label: "black-out", Value: "black-out"}, {Label: "night lights", Value: "lights"},
				}},
				c.forField(),
			},
			Handle: c.setTarget,
		},
		{
			Name: "list", Help: "Your targets, when each is expected to bloom, and how it stands",
			Examples: []string{"/target list", "/target list file:yes"},
			Fields:   []bot.Field{fileField("targets.csv, which /stock add file: reads, and dates.csv with every step"), c.forField()},
			Right:    bot.Member,
			Handle:   c.listTargets,
		},
		{
			Name: "drop", Help: "Give a target up; its open jobs end with it",
			Examples: []string{"/target drop Saltmarsh 2027-11-05"},
			Fields:   []bot.Field{named, c.forField()},
			Right:    bot.Member,
			Handle:   c.dropTarget,
		},
		c.spreadRequest(),
	}}
}

// setTarget asks crop before anything is kept: a target that cannot be met is answered with what can.
func (c counter) setTarget(ctx context.Context, in *bot.In) (bot.Reply, error) {
	wanted, stems := wantedBloom(in), in.Whole("stems")
	seat := c.seat(ctx, in)
	c.variety(ctx, in, seat.Coop.ID, register.Member{}, "variety") // before anyone is made a member
	seat = c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	v := c.variety(ctx, in, seat.Coop.ID, own, "variety")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if wanted.From <= in.Today() {
		return bot.Reply{}, fault.New(fault.Unclear, "%s is not ahead. Give a bloom day after today.", wanted.From.Long())
	}
	rests, err := c.reg.Case(ctx, own.ID, v.ID, wanted, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	plan := crop.Backwards(rests, in.Today())
	if plan.Refusal != nil || plan.Missed != "" {
		return c.notHere(ctx, in, own, v, wanted, plan)
	}
	out, err := c.reg.SetTarget(ctx, actor, v.ID, wanted, stems)
	if err != nil {
		return bot.Reply{}, err
	}
	return aimed(in, seat, own, out.Plan, plan), nil
}

// wantedBloom reads what is aimed at.
func wantedBloom(in *bot.In) crop.Target {
	wanted := crop.Target{From: in.Day("bloom"), To: in.Day("until"), Way: crop.Way(in.Choice("way"))}
	if wanted.Way == "any" {
		wanted.Way = crop.AnyWay
	}
	if wanted.To.IsZero() {
		wanted.To = wanted.From
	}
	if wanted.To < wanted.From && in.Err() == nil {
		in.Fail(fault.New(fault.Unclear, "%s comes before %s. Give an until: day after the bloom day, or leave it out.", wanted.To.Long(), wanted.From.Long()))
	}
	return wanted
}

// aimed tells a target that was set: the bloom, what comes first, the stop, and what to look out for.
func aimed(in *bot.In, seat register.Seat, own register.Member, p register.Plan, plan crop.Plan) bot.Reply {
	var text prose
	text.add("%s%s %s", bloomSentence(plan.Bloom), besideWanted(plan.Bloom.Window.Likely, p.Wanted), wayWords(plan.Way))
	text.add("%s", firstAndStop(plan, in.Today(), pinch(seat)))
	text.add("%s", strings.Join(plan.Warnings, "\n"))
	member := in.Text("for")
	reply := bot.Reply{Title: titleOf(seat, own) + targetTitle(p), Text: text.String(), Private: true, Next: []bot.Next{
		{Label: "Every step", Request: bot.Typed("/plan show", "target", targetName(p), "for", member)},
	}}
	if wakingLate(plan, in.Today()) {
		reply.Next = append(reply.Next, bot.Next{Label: "Ask the co-op for rooted plants", Request: bot.Typed("/swap want", "stock", stockWord(exchange.Plants), "variety", p.Name, "target", targetName(p), "for", member)})
	}
	if p.Stems > 0 {
		reply.Next = append(reply.Next, bot.Next{Label: "How many plants that takes", Request: bot.Typed("/raise stems", "variety", p.Name, "stems", fmt.Sprint(p.Stems))})
	}
	return reply
}

// targetTitle names a target as people read it: "Saltmarsh for Fri 5 Nov 2027, 40 stems".
func targetTitle(p register.Plan) string {
	title := p.Name + " for " + p.Wanted.From.Long()
	if p.Wanted.To > p.Wanted.From {
		title += " to " + p.Wanted.To.Long()
	}
	if p.Stems > 0 {
		title += ", " + plural(p.Stems, "stem", "stems")
	}
	return title
}

// bloomSentence says when the bloom comes, how sure that is, and what it rests on.
func bloomSentence(f crop.Forecast) string {
	switch {
	case f.Window.IsZero():
		return fmt.Sprintf("When it blooms cannot be said: it rests on %s.", f.Why)
	case f.Basis == crop.Recorded:
		return fmt.Sprintf("In bloom: %s.", f.Why)
	}
	return fmt.Sprintf("Bloom about %s, nine years in ten between %s and %s. That rests on %s.",
		f.Window.Likely.Long(), f.Window.Earliest.Annual(), f.Window.Latest.Annual(), f.Why)
}

// besideWanted says by how much the likely bloom misses the days wanted; nothing where it falls within them.
func besideWanted(bloom calendar.Day, wanted crop.Target) string {
	switch {
	case wanted.From.IsZero() || bloom.IsZero():
	case bloom > wanted.To:
		return fmt.Sprintf(" %s is %s after what you want.", bloom.Long(), plural(bloom.Sub(wanted.To), "day", "days"))
	case bloom < wanted.From:
		return fmt.Sprintf(" %s is %s before what you want.", bloom.Long(), plural(wanted.From.Sub(bloom), "day", "days"))
	}
	return ""
}

func wayWords(w crop.Way) string {
	switch w {
	case crop.Shaded:
		return "It is brought to bloom early by black-out."
	case crop.Lit:
		return "It is held back by night lights."
	}
	return "It blooms in its natural season."
}

// firstAndStop tells the first open step of a plan, the stop, and when short days begin where they are made.
func firstAndStop(plan crop.Plan, today calendar.Day, pinch bool) string {
	var told []string
	late := wakingLate(plan, today)
	for _, s := range plan.Steps {
		first := len(told) == 0
		if late && !slices.Contains(crop.StepsTo(crop.Potted), s.Kind) && first {
			continue // what leads to rooted plants is over
		}
		switch s.Kind {
		case crop.Stop, crop.SecondStop, crop.BlackOut, crop.Light, crop.LightEnd:
		default:
			if !first {
				continue
			}
		}
		if care := s.Kind == crop.Support || s.Kind == crop.Feed; s.Done || care && s.Window.Latest < today { // past care moves no bloom
			continue
		}
		sentence := upper(s.Kind.Phrase(pinch)) + " " + about(s.Window, today)
		if first {
			sentence = "First, " + s.Kind.Phrase(pinch) + " " + about(s.Window, today)
		}
		if s.LastSafe != 0 && s.Kind != crop.Chill {
			sentence += ", at the latest " + s.LastSafe.Long()
		}
		told = append(told, sentence+".")
	}
	return strings.Join(told, " ")
}

// wakingLate reports whether it is too late to wake the stools that a plan begins with.
func wakingLate(plan crop.Plan, today calendar.Day) bool {
	return slices.ContainsFunc(plan.Steps, func(s crop.Step) bool {
		return s.Kind == crop.Wake && !s.Done && s.LastSafe != 0 && s.LastSafe < today
	})
}

// about gives a window in a sentence. What had its time before a target was set may well be done, and not recorded.
func about(w calendar.Window, today calendar.Day) string {
	switch {
	case w.Latest < today:
		return "(if it is not done yet: it was due about " + w.Likely.Long() + ")"
	case w.Earliest <= today && w.Likely < today:
		return "now (best about " + w.Likely.Long() + ")"
	case w.Known():
		return "on " + w.Likely.Long()
	}
	return "about " + w.String()
}

func (c counter) listTargets(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	_, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	targets, err := c.reg.Targets(ctx, own.ID, in.Today().Add(-365))
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: titleOf(seat, own) + "Targets", Private: true, Rows: bot.Table{Columns: bot.Columns("target", "stems", "earliest", "likely", "latest", "state")}}
	running, err := c.reg.Reckonings(ctx, own.ID, in.Today().Add(-365), in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	bearings, err := c.reg.Bearings(ctx, seat.Coop.ID, own.ID, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	var text prose
	text.add("The days are those of the bloom as expected now, nine times in ten between earliest and latest.")
	for _, p := range targets {
		bloom, state := p.Bloom, endedState(p)
		if i := slices.IndexFunc(running, func(r register.Reckoned) bool { return r.Plan.ID == p.ID }); i >= 0 {
			r := running[i]
			bloom, state = r.Crop.Bloom.Window, runningState(r, bearings[p.ID], in.Today(), pinch(seat))
			if len(reply.Next) < 5 {
				reply.Next = append(reply.Next, bot.Next{Label: "The steps of " + targetName(p), Request: bot.Typed("/plan show", "target", targetName(p), "for", in.Text("for"))})
			}
		}
		if !p.Bloomed.IsZero() {
			bloom = calendar.On(p.Bloomed)
			if p.Ending == register.Running {
				flush, err := c.reg.Flush(ctx, p.ID)
				if err != nil {
					return bot.Reply{}, err
				}
				state = "in bloom since " + flush.Since.Annual().String()
			}
		}
		stems := bot.Cell{}
		if p.Stems > 0 {
			stems = bot.Whole(p.Stems)
		}
		reply.Rows.Add(bot.Text(targetName(p)), stems, bot.Day(bloom.Earliest), bot.Day(bloom.Likely), bot.Day(bloom.Latest), bot.Text(state))
	}
	few, ask := tooFew(in, targets, bearings)
	text.add("%s", few)
	reply.Text = text.String()
	reply.Next = append(ask, reply.Next...)
	if len(targets) == 0 {
		reply.Text = "There is no target of the last year or ahead. Say what you want in bloom and when, and every date follows."
		reply.Next = []bot.Next{{Label: "Set one", Request: "/target set"}}
	}
	if in.Yes("file") {
		reply.Files, err = c.targetFiles(ctx, in, own, pinch(seat))
	}
	return reply, err
}

// endedState tells how a target came out that no longer runs.
func endedState(p register.Plan) string {
	if p.Bloomed.IsZero() {
		return "over, no bloom recorded"
	}
	return "bloomed " + p.Bloomed.Annual().String()
}

// runningState tells in a word or two how a target stands today that is not in bloom.
func runningState(r register.Reckoned, b register.Bearing, today calendar.Day, pinch bool) string {
	switch p := r.Crop; {
	case p.Refusal != nil:
		return "cannot be met"
	case p.Missed != "":
		return "too late"
	case b.Gone:
		return "no plants left"
	default:
		var state []string
		if i := slices.IndexFunc(p.Steps, func(s crop.Step) bool { return !s.Done && s.Window.Latest < today }); i >= 0 {
			state = append(state, p.Steps[i].Kind.Name(pinch)+" overdue")
		}
		if off := outside(p.Bloom.Window.Likely, r.Plan.Wanted); off > 3 { // what a day of stopping may be off
			side := "late"
			if p.Bloom.Window.Likely < r.Plan.Wanted.From {
				side = "early"
			}
			state = append(state, plural(off, "day", "days")+" "+side)
		}
		if b.Known && b.Stems < r.Plan.Stems {
			state = append(state, fmt.Sprintf("plants for %d of %s", b.Stems, plural(r.Plan.Stems, "stem", "stems")))
		}
		if len(state) == 0 {
			return "on course"
		}
		return strings.Join(state, ", ")
	}
}

// tooFew tells which targets have no plants or too few, and offers to ask the co-op for some.
func tooFew(in *bot.In, targets []register.Plan, bearings map[int64]register.Bearing) (text string, next []bot.Next) {
	var names []string
	for _, p := range targets {
		b := bearings[p.ID]
		if !p.Bloomed.IsZero() || b.Lost || !b.Gone && (!b.Known || b.Stems >= p.Stems) {
			continue
		}
		names = append(names, targetName(p))
		if len(next) < 2 {
			next = append(next, bot.Next{Label: short("Ask the co-op for plants for " + targetName(p)),
				Request: bot.Typed("/swap want", "variety", p.Name, "target", targetName(p), "for", in.Text("for"))})
		}
	}
	if len(names) == 0 {
		return "", nil
	}
	return fmt.Sprintf("There are too few plants for %s: /swap want asks the co-op for stools, cuttings or young plants. /target drop gives up what cannot be raised any more.", some(names, 4)), next
}

func (c counter) dropTarget(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	p := c.target(ctx, in, own, "target")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	jobs, err := c.reg.JobsOf(ctx, p.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	if _, err := c.reg.DropTarget(ctx, actor, p.ID, ""); err != nil {
		return bot.Reply{}, err
	}
	keeps, err := c.reg.Plans(ctx, own.ID, p.Variety)
	if err != nil {
		return bot.Reply{}, err
	}
	var text prose
	text.add("%s", endedJobs(jobs, pinch(seat)))
	if len(keeps) > 0 && keeps[0].Keeps() {
		text.add("The plants of %s are kept: /plan show has what they need.", p.Name)
	}
	until := ""
	if p.Wanted.To > p.Wanted.From {
		until = p.Wanted.To.String()
	}
	stems := ""
	if p.Stems > 0 {
		stems = fmt.Sprint(p.Stems)
	}
	return bot.Reply{Title: titleOf(seat, own) + "Dropped: " + targetTitle(p), Text: text.String(), Private: true, Next: []bot.Next{
		{Label: "Set it again", Request: bot.Typed("/target set", "variety", p.Name, "bloom", p.Wanted.From.String(), "stems", stems, "until", until, "way", string(p.Wanted.Way), "for", in.Text("for"))},
	}}, nil
}

// endedJobs tells which open jobs end.
func endedJobs(jobs []register.Job, pinch bool) string {
	var names []string
	for _, j := range jobs {
		if j.State == register.JobOpen {
			names = append(names, j.Kind.Name(pinch)+" ("+j.Due.Annual().String()+")")
		}
	}
	if len(names) == 0 {
		return "No job was open."
	}
	return fmt.Sprintf("%s with it: %s.", plural(len(names), "open job ends", "open jobs end"), some(names, 6))
}
