package scheduler

import (
	"context"
	"fmt"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// ahead warns: of last safe days, of stops and short days a week ahead, and of targets out of reach.
func (d group) ahead(lost []register.Plan) part {
	p := part{heading: "Mind", rest: "to mind", merged: "Within a week "}
	for _, w := range safeWarnings(d.agenda.safe, d.span.day, d.pinch) {
		p.lines = append(p.lines, line{head: w.head, items: w.items, tail: w.tail})
	}
	for _, w := range aheadWarnings(d.agenda.ahead, d.span.day, d.pinch) {
		p.lines = append(p.lines, line{head: w.head, step: w.kinds[0].Phrase(d.pinch), items: w.items})
	}
	reach := line{head: "Out of reach:", whole: true}
	for _, plan := range lost {
		reach.items = append(reach.items, item{plan.Member, plan.Owner, reachWords(plan), []register.Word{{Plan: plan.ID, About: register.SayMissed}}})
	}
	if len(reach.items) > 0 {
		p.lines = append(p.lines, reach)
	}
	return p
}

// warning is one word of the jobs of one day.
type warning struct {
	head  string
	items []item // one a plan
	tail  string
	kinds []crop.Kind
	day   calendar.Day
}

// safeWarnings tell of last safe days. Steps of which the same is lost are told together, and each day once where it is
// one for all.
func safeWarnings(jobs []register.OpenJob, today calendar.Day, pinch bool) []warning {
	var all []warning
	for _, j := range jobs {
		tail := "After it " + j.Lost + "."
		i := slices.IndexFunc(all, func(w warning) bool { return w.tail == tail })
		if i < 0 {
			i, all = len(all), append(all, warning{tail: tail})
		}
		w := &all[i]
		if !slices.Contains(w.kinds, j.Kind) {
			w.kinds = append(w.kinds, j.Kind)
		}
		said := word(j, register.SayLastSafe)
		k := slices.IndexFunc(w.items, func(it item) bool { return it.words[0].Plan == j.Plan && it.words[0].On == said.On })
		if k < 0 {
			k, w.items = len(w.items), append(w.items, item{member: j.Member, owner: j.Owner, what: j.Name})
		}
		w.items[k].words = append(w.items[k].words, said)
	}
	for i := range all {
		all[i].nameDays(today, pinch)
	}
	return all
}

// nameDays heads a warning of last safe days with the day, or names that of each item where they differ.
func (w *warning) nameDays(today calendar.Day, pinch bool) {
	var steps []string
	for _, k := range w.kinds {
		steps = append(steps, k.Phrase(pinch))
	}
	first := w.items[0].words[0].On
	if !slices.ContainsFunc(w.items, func(it item) bool { return it.words[0].On != first }) {
		w.head = fmt.Sprintf("The last safe day to %s is %s", listed(steps), relative(first, today))
		return
	}
	w.head = "The last safe days to " + listed(steps)
	for i, it := range w.items {
		w.items[i].what += " " + dayAhead(it.words[0].On)
	}
}

// aheadWarnings tell of stops and short days that are not due yet.
func aheadWarnings(jobs []register.OpenJob, today calendar.Day, pinch bool) []warning {
	var all []warning
	for _, j := range jobs {
		i := slices.IndexFunc(all, func(w warning) bool { return w.day == j.Due && w.kinds[0] == j.Kind })
		if i < 0 {
			head := upper(relative(j.Due, today)) + ", " + j.Kind.Phrase(pinch)
			i, all = len(all), append(all, warning{head: head, day: j.Due, kinds: []crop.Kind{j.Kind}})
		}
		all[i].items = append(all[i].items, item{j.Member, j.Owner, j.Name, []register.Word{word(j, register.SayAhead)}})
	}
	return all
}

// relative names a day by how far it is off: "tomorrow, Tue 1 Jun 2027".
func relative(d, today calendar.Day) string {
	switch n := d.Sub(today); n {
	case 0:
		return "today"
	case 1:
		return "tomorrow, " + d.Long()
	case weekLong:
		return "in a week, on " + d.Long()
	default:
		return fmt.Sprintf("in %d days, on %s", n, d.Long())
	}
}

// reachWords tells of a target what keeps it out of reach, and what can still be done.
func reachWords(p register.Plan) string {
	why := p.Missed
	if p.Refusal != "" {
		why = p.Refusal
	}
	return fmt.Sprintf("%s for %s. %s", p.Name, p.Wanted.From.Long(), why)
}

// mostLost is how many targets out of reach one notice tells of; the others come next.
const mostLost = 6

// outOfReach gives the targets of a co-op, or of one member, that can no longer be met, of which nothing was said.
func outOfReach(ctx context.Context, reg *register.Register, s Subject, member int64) ([]register.Plan, error) {
	plans, err := reg.Doubtful(ctx, s.Coop, member, s.Day)
	if err != nil {
		return nil, err
	}
	var lost []register.Plan
	for _, p := range plans {
		if len(lost) == mostLost {
			break
		}
		now, err := reg.Reckon(ctx, p.ID, s.Day)
		if err != nil {
			return nil, err
		}
		p.Missed, p.Refusal = now.Crop.Missed, ""
		if now.Crop.Refusal != nil {
			p.Refusal = now.Crop.Refusal.Why
		}
		if p.Missed != "" || p.Refusal != "" {
			lost = append(lost, p)
		}
	}
	return lost, nil
}
