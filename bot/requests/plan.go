package requests

import (
	"context"
	"fmt"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/raising"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

func plan(c counter) bot.Family {
	return bot.Family{Name: "plan", Help: "The steps that lead to a bloom, or keep a variety", Requests: []bot.Request{{
		Name: "show", Help: "Every step of a plan, with its days and what they rest on",
		Examples: []string{"/plan show variety:Saltmarsh", "/plan show target:\"Saltmarsh 2027-11-05\"", "/plan show variety:Saltmarsh step:stop"},
		Fields: []bot.Field{
			c.varietyField(false),
			{Name: "target", Help: "a target of yours, such as Saltmarsh 2027-11-05", Kind: bot.NamedKind, Complete: c.completeTargets},
			{Name: "step", Help: "one step alone, such as stop, with all that is known of it", Kind: bot.NamedKind, Complete: completeSteps},
			{Name: "rule", Help: "yes to see the rule and the source of each step", Kind: bot.YesKind},
			c.forField(),
		},
		Right:  bot.Member,
		Handle: c.showPlan,
	}, c.planChart(), c.planCalendar(), c.planSheet()}}
}

// completeSteps offers the steps of the year by their short names.
func completeSteps(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	var names []string
	for _, k := range crop.Kinds() {
		names = append(names, k.Name(false))
	}
	return bot.Matching(bot.Choices(names...), typed), nil
}

func (c counter) showPlan(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	_, own := c.actor(ctx, in, seat)
	v := c.variety(ctx, in, seat.Coop.ID, own, "variety")
	named := c.target(ctx, in, own, "target")
	kind := bot.Take(in, "step", crop.ReadKind)
	rules := in.Yes("rule")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if v.ID != 0 && named.ID != 0 && named.Variety != v.ID {
		return bot.Reply{}, fault.New(fault.Unclear, "That target is for %s, not for %s. Leave one of the two out.", named.Name, v.Name)
	}
	plans := []register.Plan{named}
	if named.ID == 0 {
		var err error
		if plans, err = c.reg.Plans(ctx, own.ID, v.ID); err != nil {
			return bot.Reply{}, err
		}
	}
	switch {
	case len(plans) == 0 && v.ID != 0:
		return bot.Reply{}, fault.New(fault.Missing, "There is no plan for %s: neither plants nor a target. /target set aims at a bloom, /stock add enters plants.", v.Name)
	case len(plans) == 0:
		return bot.Reply{}, fault.New(fault.Missing, "There is no plan yet. /target set aims at a bloom, /stock add enters plants.")
	case len(plans) > 1:
		return c.whichPlan(ctx, in, titleOf(seat, own), plans)
	}
	r, err := c.reg.Reckon(ctx, plans[0].ID, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	jobs, err := c.reg.JobsOf(ctx, plans[0].ID)
	if err != nil {
		return bot.Reply{}, err
	}
	if kind != "" {
		return oneStep(seat, own, r, kind)
	}
	return wholePlan(in, seat, own, r, jobs, rules), nil
}

// planName names a plan in a title: its target, or its variety, which is kept.
func planName(p register.Plan) string {
	if p.Keeps() {
		return p.Name + ", kept from year to year"
	}
	return targetTitle(p)
}

// planFields are the fields by which a request names a plan.
func planFields(p register.Plan) []string {
	if p.Keeps() {
		return []string{"variety", p.Name}
	}
	return []string{"target", targetName(p)}
}

// whichPlan tells the next step of each plan, and offers to show one.
func (c counter) whichPlan(ctx context.Context, in *bot.In, whose string, plans []register.Plan) (bot.Reply, error) {
	reply := bot.Reply{Title: whose + plural(len(plans), "plan", "plans"), Private: true}
	var lines []string
	for _, p := range plans {
		jobs, err := c.reg.JobsOf(ctx, p.ID)
		if err != nil {
			return bot.Reply{}, err
		}
		line := planName(p)
		for _, j := range jobs {
			if j.State == register.JobOpen {
				line += ": next " + j.Kind.Name(false) + ", " + j.Due.Long()
				break
			}
		}
		lines = append(lines, line)
		if len(reply.Next) < bot.Offered {
			reply.Next = append(reply.Next, bot.Next{Label: planName(p), Request: bot.Typed("/plan show", append(planFields(p), "step", in.Text("step"), "rule", in.Text("rule"), "for", in.Text("for"))...)})
		}
	}
	reply.Text = strings.Join(lines, "\n") + "\n\nWhich one? Its steps are shown one by one."
	return reply, nil
}

func wholePlan(in *bot.In, seat register.Seat, own register.Member, r register.Reckoned, jobs []register.Job, rules bool) bot.Reply {
	word := pinch(seat)
	var text prose
	text.add("%s", r.Crop.Missed)
	if r.Crop.Refusal != nil {
		text.add("%s", r.Crop.Refusal.Why)
	}
	text.add("%s%s", bloomSentence(r.Crop.Bloom), besideWanted(r.Crop.Bloom.Window.Likely, r.Plan.Wanted))
	if r.Plan.Keeps() {
		text.add("%s", keeping(own.KeepStools, r.Case.Variety))
	}
	text.add("%s", lastSafe(r.Crop.Steps, in.Today(), word))
	text.add("%s", strings.Join(append(chosenOtherwise(jobs, word), r.Crop.Warnings...), "\n"))
	reply := bot.Reply{Title: titleOf(seat, own) + planName(r.Plan), Private: true, Rows: bot.Table{Columns: stepColumns()}}
	var details []string
	for _, s := range r.Crop.Steps {
		reply.Rows.Add(stepRow(s, word)...)
		details = append(details, upper(s.Kind.Name(word))+": "+ruleWords(s))
	}
	if rules {
		text.add("%s", strings.Join(details, "\n"))
	} else {
		reply.Next = append(reply.Next, bot.Next{Label: "The rule and source of each step", Request: bot.Typed("/plan show", append(planFields(r.Plan), "rule", "yes", "for", in.Text("for"))...)})
	}
	if s, ok := nextStep(r.Crop.Steps); ok {
		reply.Next = append(reply.Next, bot.Next{Label: "Done: " + s.Kind.Name(word), Request: bot.Typed("/job done", "job", jobName(s.Kind, r.Plan), "for", in.Text("for"))})
	}
	reply.Text = text.String()
	return reply
}

// nextStep gives the first step of a plan that is a job still open.
func nextStep(steps []crop.Step) (crop.Step, bool) {
	for _, s := range steps {
		if !s.Done && s.Kind != crop.Feed {
			return s, true
		}
	}
	return crop.Step{}, false
}

// lastSafe tells the last day of each open step that has one.
func lastSafe(steps []crop.Step, today calendar.Day, pinch bool) string {
	var days []string
	for _, s := range steps {
		if s.Done || s.LastSafe.IsZero() {
			continue
		}
		day := s.Kind.Name(pinch) + " " + s.LastSafe.Annual().String()
		if s.LastSafe < today {
			day += " (past)"
		}
		days = append(days, day)
	}
	if len(days) == 0 {
		return ""
	}
	return "Last safe days: " + listed(days) + "."
}

// chosenOtherwise tells what the member put off or skipped.
func chosenOtherwise(jobs []register.Job, pinch bool) []string {
	var told []string
	for _, j := range jobs {
		switch {
		case j.State == register.JobSkipped:
			told = append(told, upper(j.Kind.Name(pinch))+" is skipped.")
		case j.State == register.JobOpen && j.Due > j.Window.Likely:
			told = append(told, fmt.Sprintf("%s is put off to %s.", upper(j.Kind.Name(pinch)), j.Due.Long()))
		}
	}
	return told
}

// ruleWords gives a step's rule and where it was read.
func ruleWords(s crop.Step) string {
	words := s.Rule
	if s.Source != "" {
		words += " [" + s.Source + "]"
	}
	return words
}

// oneStep tells all that is known of one step of a plan.
func oneStep(seat register.Seat, own register.Member, r register.Reckoned, kind crop.Kind) (bot.Reply, error) {
	word := pinch(seat)
	for _, s := range r.Crop.Steps {
		if s.Kind != kind {
			continue
		}
		var text prose
		switch {
		case s.Done:
			text.add("Done on %s.", s.Window.Likely.Long())
		default:
			text.add("%s about %s.", upper(kind.Phrase(word)), s.Window)
		}
		text.add("Why: %s.", s.Rule)
		if s.Source != "" {
			text.add("Read in: %s.", s.Source)
		}
		if s.Clock != "" {
			text.add("By the clock: %s.", s.Clock)
		}
		if s.LastSafe != 0 {
			text.add("The last safe day is %s. After it %s.", s.LastSafe.Long(), s.Lost)
		}
		reply := bot.Reply{Title: titleOf(seat, own) + planName(r.Plan) + ": " + kind.Name(word), Text: text.String(), Private: true, Rows: bot.Table{Columns: stepColumns()}}
		reply.Rows.Add(stepRow(s, word)...)
		return reply, nil
	}
	return bot.Reply{}, fault.New(fault.Missing, "The plan for %s has no step %q, or a later step shows that it is over. %s lists its steps.",
		r.Plan.Name, kind.Name(word), bot.Typed("/plan show", planFields(r.Plan)...))
}

// keeping tells how many cuttings keep a variety: so many that the stools kept back stand again after the next winter.
func keeping(stools int, v variety.Variety) string {
	if stools == 0 {
		return "No bloom is aimed at, and no stools are kept back; /grower place keep:3 changes that."
	}
	rates := raising.Rates{}.OrDefault()
	rates.Shoots.Mean, rates.Shoots.Source = v.ShootsOrDefault()
	rates.Market = rates.Winter // what has to come through is a stool
	n, err := raising.Raise(raising.Need{Stems: stools, StemsPerPlant: 1, Rates: rates})
	if err != nil {
		return "No bloom is aimed at; " + plural(stools, "stool is", "stools are") + " kept back to go on with."
	}
	return fmt.Sprintf("No bloom is aimed at. To keep the variety strike %s from %s: %s then come through the next winter with 95 %% certainty.",
		plural(n.Cuttings, "cutting", "cuttings"), plural(n.Stools, "stool", "stools"), plural(stools, "stool", "stools"))
}
