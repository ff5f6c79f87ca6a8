package requests

import (
	"context"
	"strconv"
	"strings"
	"time"

	"shortday/bot"
	"shortday/bot/lettering"
	"shortday/bot/paper"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// sheetDays is how far ahead a handover list looks where nothing else is asked for.
const sheetDays = 14

func (c counter) swapSheetRequest() bot.Request {
	return bot.Request{
		Name: "sheet", Help: "The handovers agreed, as pages to tick off on market day",
		Examples: []string{"/swap sheet", "/swap sheet from:saturday until:saturday", "/swap sheet all:yes paper:letter"},
		Fields: []bot.Field{
			{Name: "from", Help: "the first day; today if left out", Kind: bot.DayKind},
			{Name: "until", Help: "the last day; two weeks on if left out", Kind: bot.DayKind},
			{Name: "all", Help: "yes for the whole co-op's, which a steward may have", Kind: bot.YesKind},
			paperField(), c.forField(),
		},
		Right:  bot.Member,
		Handle: c.swapSheet,
	}
}

func (c counter) swapSheet(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	_, own := c.actor(ctx, in, seat)
	from, until, all, sheet := in.Day("from"), in.Day("until"), in.Yes("all"), sheetOf(in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if from.IsZero() {
		from = in.Today()
	}
	if until.IsZero() {
		until = from.Add(sheetDays)
	}
	whose, title := own.ID, own.Name+", "+seat.Coop.Name
	switch {
	case until < from:
		return bot.Reply{}, fault.New(fault.Unclear, "%s comes before %s. Put the earlier day into from:.", until.Long(), from.Long())
	case all && in.Right < bot.Steward:
		return bot.Reply{}, fault.New(fault.Barred, "The whole co-op's list is for its stewards. Leave out all: for your own.")
	case all:
		whose, title = 0, seat.Coop.Name
	}
	swaps, err := c.reg.Handovers(ctx, seat.Coop.ID, whose, from, until)
	if err != nil {
		return bot.Reply{}, err
	}
	if len(swaps) == 0 {
		return bot.Reply{}, fault.New(fault.Missing, "No handover is agreed between %s and %s. /swap list show:mine names what is proposed.", from.Long(), until.Long())
	}
	data, err := handoverList(title, from, until, swaps, in.Zone).Set(sheet, in.At)
	if err != nil {
		return bot.Reply{}, err
	}
	lacking := map[string]bool{}
	for _, s := range swaps {
		if _, whole := lettering.Writable(s.Name); !whole {
			lacking[s.Name] = true
		}
	}
	return bot.Reply{Title: "Handovers", Private: true,
		Text:  paragraphs(upper(plural(len(swaps), "handover", "handovers"))+" between "+from.Long()+" and "+until.Long()+".", lackingWords(len(lacking), "the mark tells the variety")),
		Files: []bot.File{pdf("handovers", in.At, "A list of "+plural(len(swaps), "handover", "handovers")+" to tick off", data)}}, nil
}

// handoverList groups handovers by who brings them, with hours by the clock of a reader. The mark serves as the
// traceability code.
func handoverList(title string, from, until calendar.Day, swaps []register.Swap, reader *time.Location) paper.List {
	list := paper.List{
		Title: title + ": handovers", Pencil: "number, day",
		Note: "From " + from.Long() + " to " + until.Long() + ". All are Chrysanthemum × morifolium; the mark is the traceability code of the giver's batch. " +
			"Whether a plant passport or a licence is needed, the plant-health authority and the holder of the breeder's right decide.",
		Columns: []paper.Column{{Head: "swap", Share: 0.08}, {Head: "to", Share: 0.2}, {Head: "what", Share: 0.36}, {Head: "mark", Share: 0.12}, {Head: "where and when", Share: 0.24}},
	}
	group := map[int64]int{}
	for _, s := range swaps {
		at, known := group[s.Giver]
		if !known {
			at = len(list.Groups)
			group[s.Giver] = at
			list.Groups = append(list.Groups, paper.Group{Head: s.GiverName + " brings"})
		}
		where, _ := s.Handover(reader)
		if !s.Meets() {
			where = strings.TrimPrefix(where+", "+fromTo(s.First, s.Last), ", ")
		}
		list.Groups[at].Rows = append(list.Groups[at].Rows, []string{
			strconv.FormatInt(s.ID, 10), s.ToName, strconv.Itoa(s.Number) + " " + string(s.Stock) + " of " + s.Name, s.Mark, where})
	}
	return list
}
