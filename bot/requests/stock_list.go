package requests

import (
	"context"
	"fmt"
	"slices"

	"shortday/bot"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func (c counter) stockList(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	if in.Has("batch") {
		return c.explain(ctx, in, seat, in.Yes("chart"))
	}
	v := c.variety(ctx, in, seat.Coop.ID, seat.Member, "variety")
	own, stage, all := seat.Member, crop.Stage(in.Choice("stage")), in.Yes("all")
	if in.Has("who") {
		own = c.member(ctx, in, seat, "who")
	}
	if all && in.Has("who") {
		in.Fail(fault.New(fault.Unclear, "Name one member with who:, or all:yes for everyone; leave one of them out."))
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	batches, err := c.holdersBatches(ctx, seat, own, v.ID, all)
	if err != nil {
		return bot.Reply{}, err
	}
	batches = atStage(batches, stage)
	chart := in.Yes("chart")
	mine := own.ID == seat.Member.ID && !all
	reply := bot.Reply{Title: listTitle(own, mine, all, v.Name), Private: mine}
	if len(batches) == 0 {
		reply.Text = "There are no such plants in the register. /stock add enters plants that you have."
		return reply, nil
	}
	reply.Rows = batchTable(batches, all)
	held := ""
	if mine {
		if held, err = c.heldOf(ctx, in, own, batches); err != nil {
			return bot.Reply{}, err
		}
	}
	reply.Text = paragraphs(totals(batches), kept(own, batches, all), held)
	if chart {
		drawn, err := c.countChart(ctx, reply.Title, batches, pinch(seat))
		if err != nil {
			return bot.Reply{}, err
		}
		reply.Files = append(reply.Files, drawn)
	}
	if in.Yes("file") {
		file, err := c.stockCSV(ctx, own, batches)
		if err != nil {
			return bot.Reply{}, err
		}
		reply.Files = append(reply.Files, file)
	}
	return reply, nil
}

// holdersBatches gives the live batches of one member or of all, of one variety or of any.
func (c counter) holdersBatches(ctx context.Context, seat register.Seat, own register.Member, variety int64, all bool) ([]register.Batch, error) {
	switch {
	case all && variety != 0:
		return c.reg.BatchesOf(ctx, variety)
	case !all && own.ID == 0:
		return nil, nil
	case !all:
		return c.reg.Batches(ctx, own.ID, variety)
	}
	return c.reg.BatchesOfCoop(ctx, seat.Coop.ID)
}

func listTitle(own register.Member, mine, all bool, variety string) string {
	title := "Your plants"
	switch {
	case all:
		title = "The co-op's plants"
	case !mine:
		title = own.Name + "'s plants"
	}
	if variety != "" {
		title += ": " + variety
	}
	return title
}

// batchTable has a row a batch, with its owner where there are several.
func batchTable(batches []register.Batch, owners bool) bot.Table {
	rows := bot.Table{Columns: bot.Columns("mark", "variety", "stage", "count", "spot", "since", "from")}
	if owners {
		rows.Columns = append(rows.Columns, bot.Column{Key: "who", Head: "who"})
	}
	for _, b := range batches {
		cells := []bot.Cell{bot.Text(b.Mark), bot.Text(b.Name), bot.Text(string(b.Stage)), bot.Whole(b.Count), textCell(b.Spot), bot.Day(b.Since), textCell(b.From)}
		if owners {
			cells = append(cells, bot.Text(b.Owner))
		}
		rows.Add(cells...)
	}
	return rows
}

// textCell makes a cell of words, none of no words.
func textCell(of string) bot.Cell {
	if of == "" {
		return bot.Cell{}
	}
	return bot.Text(of)
}

// totals adds the batches up by stage: "12 stools boxed and 40 cuttings struck in 3 batches."
func totals(batches []register.Batch) string {
	sums := map[crop.Stage]int{}
	for _, b := range batches {
		sums[b.Stage] += b.Count
	}
	var each []string
	for _, stage := range stages {
		if sums[stage] > 0 {
			each = append(each, plants(sums[stage], stage)+" "+string(stage))
		}
	}
	return listed(each) + " in " + plural(len(batches), "batch", "batches") + "."
}

// kept says what stools a member keeps back of each variety, where stools are listed.
func kept(own register.Member, batches []register.Batch, all bool) string {
	if all || own.KeepStools == 0 || !slices.ContainsFunc(batches, isStools) {
		return ""
	}
	return fmt.Sprintf("Of each variety %s kept back to go on with, and never counted as spare.", plural(own.KeepStools, "stool is", "stools are"))
}
