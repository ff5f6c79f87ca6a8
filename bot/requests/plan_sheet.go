package requests

import (
	"context"
	"slices"

	"shortday/bot"
	"shortday/bot/lettering"
	"shortday/bot/paper"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func (c counter) planSheet() bot.Request {
	return bot.Request{
		Name: "sheet", Help: "Your dates as pages for the shed wall, month by month, with room for pencil",
		Examples: []string{"/plan sheet", "/plan sheet variety:Saltmarsh paper:letter"},
		Fields:   []bot.Field{c.varietyField(false), paperField(), c.forField()},
		Right:    bot.Member,
		Handle:   c.sheet,
	}
}

func (c counter) sheet(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	_, own := c.actor(ctx, in, seat)
	v := c.variety(ctx, in, seat.Coop.ID, own, "variety")
	sheet := sheetOf(in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	jobs, err := c.reg.Due(ctx, own.ID, in.Today().Add(2*366))
	if err != nil {
		return bot.Reply{}, err
	}
	jobs = slices.DeleteFunc(jobs, func(j register.Job) bool { return v.ID != 0 && j.Variety != v.ID })
	if len(jobs) == 0 {
		return bot.Reply{}, fault.New(fault.Missing, "There is nothing to put on a sheet yet. /target set aims at a bloom, /stock add enters plants.")
	}
	title := own.Name + ", " + seat.Coop.Name + ": the season"
	list := paper.List{
		Title: title, Pencil: "done on",
		Note:    "Reckoned on " + in.Today().Long() + ". Each day is the likely one; between stand the days in which it falls nine years in ten. What is done early or late moves what follows: /job done tells how.",
		Columns: []paper.Column{{Head: "day", Share: 0.2}, {Head: "job", Share: 0.26}, {Head: "variety", Share: 0.26}, {Head: "between", Share: 0.28}},
	}
	lacking := map[string]bool{}
	for _, j := range jobs {
		if _, whole := lettering.Writable(j.Name); !whole {
			lacking[j.Name] = true
		}
		month := j.Due.UTC().Format("January 2006")
		if n := len(list.Groups); n == 0 || list.Groups[n-1].Head != month {
			list.Groups = append(list.Groups, paper.Group{Head: month})
		}
		last := &list.Groups[len(list.Groups)-1]
		last.Rows = append(last.Rows, []string{j.Due.Long(), j.Kind.Phrase(pinch(seat)), j.Name, betweenWords(j)})
	}
	data, err := list.Set(sheet, in.At)
	if err != nil {
		return bot.Reply{}, err
	}
	text := upper(plural(len(jobs), "job", "jobs")) + " from " + jobs[0].Due.Long() + " to " + jobs[len(jobs)-1].Due.Long() + ", month by month."
	return bot.Reply{Title: titleOf(seat, own) + "Season sheet", Text: paragraphs(text, lackingWords(len(lacking), "/plan show tells the variety")), Private: true,
		Files: []bot.File{pdf("season", in.At, "A sheet of "+plural(len(jobs), "job", "jobs")+" for the wall", data)}}, nil
}

// betweenWords gives the days in which a job falls nine years in ten, and the last that is safe.
func betweenWords(j register.Job) string {
	text := ""
	if j.Window.Earliest != j.Window.Latest {
		text = fromTo(j.Window.Earliest, j.Window.Latest)
	}
	if j.Clock != "" {
		text += " (" + j.Clock + ")"
	}
	if !j.LastSafe.IsZero() {
		text += ", at the latest " + j.LastSafe.Annual().String()
	}
	return text
}

func fromTo(from, to calendar.Day) string {
	return from.Annual().String() + " – " + to.Annual().String()
}
