package requests

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/supply"
)

func (c counter) supplyRequest() bot.Request {
	return bot.Request{
		Name: "supply", Help: "Stems a week that the members' targets bring, against what is promised",
		Examples: []string{"/coop supply", "/coop supply by:variety", "/coop supply from:2027-09-20 until:2027-11-30"},
		Right:    bot.Member,
		Fields: []bot.Field{
			{Name: "from", Help: "a day of the first week; the co-op's season if left out", Kind: bot.DayKind, Sense: calendar.Running},
			{Name: "until", Help: "a day of the last week", Kind: bot.DayKind, Sense: calendar.Running},
			{Name: "by", Help: "how the stems are told apart", Kind: bot.ChoiceKind, Choices: []bot.Choice{
				{Label: "all together", Value: "week"}, {Label: "by season class", Value: "season"}, {Label: "by variety", Value: "variety"}}},
			chartField(),
		},
		Handle: c.coopSupply,
	}
}

// mostWeeks is how many weeks an answer has at most.
const mostWeeks = 60

// autumn gives the season of sale that is running or next: September to December, half a year on in the south.
func autumn(today calendar.Day, south bool) (first, last calendar.Day) {
	begin, end := time.September, time.December
	if south {
		begin, end = time.March, time.June
	}
	year := today.Year()
	if calendar.DayOf(year, end+1, 0) < today {
		year++
	}
	return calendar.DayOf(year, begin, 1).Monday(), calendar.DayOf(year, end+1, 0).Monday().Add(6)
}

func (c counter) coopSupply(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	first, last := autumn(in.Today(), seat.Place().South())
	by, chart := in.Choice("by"), in.Yes("chart")
	if in.Has("from") {
		first = in.Day("from").Monday()
		last = max(last, first.Add(6))
	}
	if in.Has("until") {
		last = in.Day("until").Monday().Add(6)
	}
	switch {
	case in.Err() != nil:
		return bot.Reply{}, in.Err()
	case last < first:
		return bot.Reply{}, fault.New(fault.Unclear, "%s comes before %s. Give an until: after the from:, or leave it out.", last.Long(), first.Long())
	case last.Sub(first) >= 7*mostWeeks:
		return bot.Reply{}, fault.New(fault.Unclear, "From %s to %s are more than %d weeks. Ask for fewer.", first.Long(), last.Long(), mostWeeks)
	}
	p, err := c.prospect(ctx, seat, first, last, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: fmt.Sprintf("Supply of %s, %s to %s", coopName(in, seat), first.Long(), last.Long())}
	var text prose
	text.add("%s", p.sumWords())
	if len(p.harvest.Plantings)+len(p.promises) == 0 {
		reply.Text, reply.Next = text.String(), []bot.Next{{Label: "Aim at a bloom", Request: "/target set"}}
		return reply, nil
	}
	if by == "" || by == "week" {
		reply.Rows = p.weekRows(in.Today())
		gaps, next, err := c.gapWords(ctx, in, p)
		if err != nil {
			return bot.Reply{}, err
		}
		for _, gap := range gaps {
			text.add("%s", gap)
		}
		text.add("%s", p.glutWords(in.Today()))
		reply.Next = next
	} else {
		reply.Rows = p.partRows(by)
	}
	text.add("Nine seasons in ten a week has between low and high; all of a planting counts for the week in which it comes to full bloom. %s", splitWords(p.split))
	reply.Text = text.String()
	if chart {
		file, err := p.supplyChart(reply.Title, by)
		if err != nil {
			return bot.Reply{}, err
		}
		reply.Files = append(reply.Files, file)
	} else {
		reply.Next = append(reply.Next, bot.Next{Label: "As a picture", Request: changed(in, "chart", "yes")})
	}
	if by == "" || by == "week" {
		reply.Next = append(reply.Next, bot.Next{Label: "By variety", Request: bot.Typed("/coop supply", "from", in.Text("from"), "until", in.Text("until"), "by", "variety")},
			bot.Next{Label: "What is promised", Request: "/coop promise"})
	}
	return reply, nil
}

// sumWords tells how many stems there are, and what is left out.
func (p prospect) sumWords() string {
	if p.All.Stems == 0 && p.harvest.Uncounted+p.harvest.Refused+p.harvest.Short == 0 {
		return "No member has a target for these weeks, and nothing was picked. /target set aims at a bloom."
	}
	text := fmt.Sprintf("%s in %s", plural(p.All.Stems, "stem", "stems"), plural(len(p.harvest.Plantings), "planting", "plantings"))
	var elsewhere []string
	if before := p.All.Before.Expected; before >= 0.5 {
		elsewhere = append(elsewhere, fmt.Sprintf("%.0f before these weeks", before))
	}
	if after := p.All.After.Expected; after >= 0.5 {
		elsewhere = append(elsewhere, fmt.Sprintf("%.0f after them", after))
	}
	if len(elsewhere) > 0 {
		text += ", of which on average " + listed(elsewhere)
	}
	text += "."
	if n := p.harvest.Silent; n > 0 {
		text += fmt.Sprintf(" %s should be over and nothing was recorded of it: that counts for its likely week.", plural(n, "planting", "plantings"))
	}
	if n := p.harvest.Uncounted; n > 0 {
		text += fmt.Sprintf(" Not counted: %s without a number of stems or a day that can be said.", plural(n, "target", "targets"))
	}
	if n := p.harvest.Refused; n > 0 {
		text += fmt.Sprintf(" Not counted: %s that cannot be met.", plural(n, "target", "targets"))
	}
	if n := p.harvest.Short; n > 0 {
		text += fmt.Sprintf(" Not counted: %s wanted for which there are no plants.", plural(n, "stem", "stems"))
	}
	return text
}

// weekRows gives the weeks from the first to the last that has stems or a promise.
func (p prospect) weekRows(today calendar.Day) bot.Table {
	rows := bot.Table{Columns: []bot.Column{{Key: "week", Head: "week of"}, {Key: "stems", Head: "stems"}, {Key: "low", Head: "low"}, {Key: "high", Head: "high"},
		{Key: "promised", Head: "promised"}, {Key: "met", Head: "met"}, {Key: "free", Head: "still to promise"}}}
	stems := whole(p.All)
	first, last := len(p.Weeks), -1
	for w, week := range p.Weeks {
		if stems[w] > 0 || p.All.Weeks[w].High > 0 || week.Promised > 0 {
			first, last = min(first, w), w
		}
	}
	for w, week := range p.Weeks {
		if w < first || w > last {
			continue
		}
		b := p.All.Weeks[w]
		promised, met := bot.Cell{}, bot.Cell{}
		if week.Promised > 0 {
			promised, met = bot.Whole(week.Promised), bot.Text(chance(week.Met))
		}
		free := bot.Cell{}
		if week.From.Add(6) >= today {
			free = bot.Whole(week.Free.Low)
		}
		rows.Add(bot.Day(week.From), bot.Whole(stems[w]), bot.Whole(b.Low), bot.Whole(b.High), promised, met, free)
	}
	return rows
}

// partRows gives the stems by season class or by variety, the weeks without any left out.
func (p prospect) partRows(by string) bot.Table {
	rows := bot.Table{Columns: []bot.Column{{Key: by, Head: by}, {Key: "week", Head: "week of"}, {Key: "stems", Head: "stems"}, {Key: "low", Head: "low"}, {Key: "high", Head: "high"}}}
	parts := p.Seasons
	if by == "variety" {
		parts = slices.SortedFunc(slices.Values(p.Varieties), func(a, b supply.Row) int {
			return cmp.Compare(p.varieties[a.Variety].Name, p.varieties[b.Variety].Name)
		})
	}
	for _, part := range parts {
		name := string(part.Season)
		if by == "variety" {
			name = p.varieties[part.Variety].Name
		} else if name == "" {
			name = "not known"
		}
		stems := whole(part)
		for w, b := range part.Weeks {
			if stems[w] > 0 || b.High > 0 {
				rows.Add(bot.Text(name), bot.Day(p.Weeks[w].From), bot.Whole(stems[w]), bot.Whole(b.Low), bot.Whole(b.High))
			}
		}
	}
	return rows
}

// whole gives the stems expected of each week as whole numbers that sum, with those before and after, to all: those with
// the largest remainders are rounded up.
func whole(r supply.Row) []int {
	bands := append(slices.Concat(r.Weeks), r.Before, r.After)
	stems, left := make([]int, len(bands)), r.Stems
	order := make([]int, len(bands))
	rest := func(i int) float64 { return bands[i].Expected - math.Floor(bands[i].Expected) }
	for i, b := range bands {
		stems[i], order[i] = int(b.Expected), i
		left -= stems[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(rest(b), rest(a)) })
	for _, i := range order[:left] {
		stems[i]++
	}
	return stems[:len(r.Weeks)]
}

// glutWords names the weeks in which most is left over, were the season a poor one.
func (p prospect) glutWords(today calendar.Day) string {
	const most = 3
	weeks := slices.DeleteFunc(slices.Clone(p.Weeks), func(w supply.Week) bool { return w.Free.Low == 0 || w.From.Add(6) < today })
	if len(weeks) == 0 || len(p.promises) == 0 {
		return ""
	}
	slices.SortStableFunc(weeks, func(a, b supply.Week) int { return b.Free.Low - a.Free.Low })
	var told []string
	for _, w := range weeks[:min(most, len(weeks))] {
		told = append(told, fmt.Sprintf("%d in the week of %s (%.0f on average)", w.Free.Low, w.From.Long(), w.Free.Expected))
	}
	return "Most stems beyond the promises, even in a season that is poor for the week: " + listed(told) + "."
}

// gapWords tells which promises may not be met, the weakest first, and what could fill the gap.
func (c counter) gapWords(ctx context.Context, in *bot.In, p prospect) (told []string, next []bot.Next, err error) {
	const most = 3
	ahead := slices.DeleteFunc(slices.Clone(p.Promises), func(s supply.Service) bool { return s.Week.Add(6) < in.Today() })
	weak := slices.DeleteFunc(slices.Clone(ahead), func(s supply.Service) bool { return s.Short == 0 })
	slices.SortStableFunc(weak, func(a, b supply.Service) int { return cmp.Compare(a.Met, b.Met) })
	for i, s := range weak {
		if i == most {
			told = append(told, fmt.Sprintf("So it is with %s more: /coop promise lists them.", plural(len(weak)-most, "promise", "promises")))
			break
		}
		promise := p.promises[s.ID]
		fill, more, err := c.fillWords(ctx, in, p, promise)
		if err != nil {
			return nil, nil, err
		}
		told = append(told, promiseTitle(promise)+". "+chanceWords(s)+" "+fill)
		next = append(next, more...)
	}
	if len(ahead) > 0 && len(weak) == 0 {
		told = append(told, "Every promise of this week and later is met nineteen seasons in twenty or better.")
	}
	return told, next, nil
}
