package requests

import (
	"context"
	"time"

	"shortday/bot"
	"shortday/bot/picture"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// mostRows is how many plans one picture shows: more would be too small to read on a telephone.
const mostRows = 10

func (c counter) planChart() bot.Request {
	return bot.Request{
		Name: "chart", Help: "A picture of your plans over the year, each step at its likely day",
		Examples: []string{"/plan chart", "/plan chart variety:Saltmarsh"},
		Fields:   []bot.Field{c.varietyField(false), c.forField()},
		Right:    bot.Member,
		Handle:   c.chart,
	}
}

func (c counter) chart(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	_, own := c.actor(ctx, in, seat)
	v := c.variety(ctx, in, seat.Coop.ID, own, "variety")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	plans, err := c.reg.Plans(ctx, own.ID, v.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	if len(plans) == 0 {
		return bot.Reply{}, fault.New(fault.Missing, "There is no plan to draw yet. /target set aims at a bloom, /stock add enters plants.")
	}
	left := len(plans) - min(len(plans), mostRows)
	p := picture.Plans{Title: own.Name + ": " + plural(len(plans)-left, "plan", "plans"), Today: in.Today()}
	for _, plan := range plans[:len(plans)-left] {
		row, err := c.chartRow(ctx, plan, pinch(seat))
		if err != nil {
			return bot.Reply{}, err
		}
		p.Rows = append(p.Rows, row)
	}
	p.From, p.To = chartSpan(p.Rows, in.Today())
	p.Note = "A step that is done stands on its day; one to come on its likely day, with the days in which it falls nine years in ten."
	file, err := drawn("plans", p)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: titleOf(seat, own) + "Plans over the year", Private: true, Files: []bot.File{file}}
	reply.Text = plural(len(plans)-left, "plan", "plans") + " from " + p.From.Long() + " to " + p.To.Long() + "."
	if left > 0 {
		reply.Text += " " + plural(left, "more plan is", "more plans are") + " left out, for they would be too small to read. Name a variety: to see one."
	}
	for _, plan := range plans[:min(len(plans), 5)] {
		reply.Next = append(reply.Next, bot.Next{Label: planName(plan), Request: bot.Typed("/plan show", append(planFields(plan), "for", in.Text("for"))...)})
	}
	return reply, nil
}

func (c counter) chartRow(ctx context.Context, p register.Plan, pinch bool) (picture.PlanRow, error) {
	row := picture.PlanRow{Name: p.Name, Below: "kept from year to year"}
	if !p.Keeps() {
		row.Below = "for " + p.Wanted.From.Long()
		if p.Stems > 0 {
			row.Below += ", " + plural(p.Stems, "stem", "stems")
		}
	}
	jobs, err := c.reg.JobsOf(ctx, p.ID)
	for _, j := range jobs {
		mark := picture.Mark{Name: j.Kind.Name(pinch), Window: j.Window, Work: workOf(j.Kind)}
		switch j.State {
		case register.JobOpen:
			mark.Window.Likely = j.Due
			mark.Window.Latest = max(mark.Window.Latest, j.Due)
		case register.JobDone:
			mark.Done, mark.Window = true, calendar.On(j.Due)
		default:
			continue
		}
		row.Marks = append(row.Marks, mark)
	}
	return row, err
}

// chartSpan gives the whole months that hold all marks, and today where it is near.
func chartSpan(rows []picture.PlanRow, today calendar.Day) (from, to calendar.Day) {
	from, to = today, today
	for _, r := range rows {
		for _, m := range r.Marks {
			from, to = min(from, m.Window.Earliest), max(to, m.Window.Latest)
		}
	}
	const longest = 18 * 30
	from = max(from, today.Add(-longest))
	to = min(to, from.Add(longest))
	first, last := from.UTC(), to.UTC()
	return calendar.DayOf(first.Year(), first.Month(), 1), calendar.DayOf(last.Year(), last.Month()+1, 1).Add(-1)
}

// workOf tells what a step has to do with.
func workOf(k crop.Kind) picture.Work {
	switch k {
	case crop.WakeWater, crop.Wake, crop.CutWater, crop.Cut, crop.Strike:
		return picture.Raising
	case crop.Stop, crop.SecondStop, crop.TakeBud, crop.Disbud, crop.BlackOut, crop.BlackOutEnd, crop.Light, crop.LightEnd:
		return picture.Shaping
	case crop.Pick:
		return picture.Blooming
	case crop.Chill, crop.CutDown, crop.Label, crop.Lift, crop.Box, crop.CheckStore:
		return picture.Resting
	}
	return picture.Tending
}

// yearOf gives the first day of a day's year and how many days it has.
func yearOf(on calendar.Day) (first calendar.Day, days int) {
	first = calendar.DayOf(on.Year(), time.January, 1)
	return first, calendar.DayOf(on.Year()+1, time.January, 1).Sub(first)
}
