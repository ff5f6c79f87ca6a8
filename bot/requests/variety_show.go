package requests

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

func (c counter) varietyShow(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	v := c.variety(ctx, in, seat.Coop.ID, register.Member{}, "variety")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	own, err := c.reg.Own(ctx, seat.Member.ID, v.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	kept, err := c.reg.BatchesOf(ctx, v.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	var seen []crop.Record
	if !seat.Zero() {
		known, err := c.reg.Case(ctx, seat.Member.ID, v.ID, crop.Target{}, in.Today())
		if err != nil {
			return bot.Reply{}, err
		}
		seen = known.Records
	}
	facts := varietyFacts(v.Variety)
	return bot.Reply{
		Title: v.Name,
		Text: paragraphs(keepers(kept), stopsText(seat, v.Stops, own, "Your own"), responseText(own, "Your own"), bloomsText(seen),
			lacks(v.Variety), notTold(facts), v.Caution(in.Today())),
		Rows: factTable(known(facts)),
		Next: []bot.Next{
			{Label: "Aim at a bloom", Request: bot.Typed("/target set", "variety", v.Name)},
			{Label: "Enter plants of it", Request: bot.Typed("/stock add", "variety", v.Name)},
			{Label: "Its dated stops", Request: bot.Typed("/variety stops", "variety", v.Name)},
		},
	}, nil
}

// keepers tells who keeps a variety, and how many plants.
func keepers(batches []register.Batch) string {
	var told []string
	for _, h := range gather(batches, func(b register.Batch) string { return b.Owner }) {
		told = append(told, h.name+" ("+h.plants()+")")
	}
	if len(told) == 0 {
		return "Nobody in the co-op keeps plants of it now."
	}
	return "Kept by " + strings.Join(told, "; ") + "."
}

// bloomsText tells the blooms on record, the latest first.
func bloomsText(seen []crop.Record) string {
	const most = 5
	var told []string
	for _, r := range slices.Backward(seen) {
		line := r.Bloomed.Long()
		if r.Own {
			line += " (yours)"
		}
		told = append(told, line)
	}
	if len(told) == 0 {
		return ""
	}
	text := "Seen in bloom: " + strings.Join(told[:min(most, len(told))], ", ")
	if len(told) > most {
		text += fmt.Sprintf(" and %d times before", len(told)-most)
	}
	return text + "."
}

func (c counter) varietyList(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	season, form, colour := variety.Season(in.Choice("season")), bot.Take(in, "form", variety.ReadForm), in.Text("colour")
	mine := in.Yes("mine")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	all, err := c.reg.Varieties(ctx, seat.Coop.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	keepers, err := c.reg.Keepers(ctx, seat.Coop.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	kept, own := map[int64][]string{}, map[int64]bool{}
	for _, k := range keepers {
		kept[k.Variety] = append(kept[k.Variety], k.Name)
		own[k.Variety] = own[k.Variety] || k.Member == seat.Member.ID
	}
	rows := bot.Table{Columns: []bot.Column{{Key: "variety", Head: "variety"}, {Key: "season", Head: "season"}, {Key: "form", Head: "form"},
		{Key: "colour", Head: "colour"}, {Key: "kept", Head: "kept by"}}}
	var shown []register.Variety
	for _, v := range all {
		is, _ := v.SeasonOrGuess()
		has, _ := v.FormOrGuess()
		if season != variety.AnySeason && is != season || form != variety.AnyForm && has != form ||
			!strings.Contains(variety.Fold(v.Colour), variety.Fold(colour)) || mine && !own[v.ID] {
			continue
		}
		shown = append(shown, v)
		rows.Add(bot.Text(v.Name), text(string(is)), text(string(has)), text(v.Colour), text(strings.Join(kept[v.ID], ", ")))
	}
	reply := bot.Reply{Title: "Varieties of " + coopName(in, seat), Text: howMany(len(rows.Rows), len(all)), Rows: rows}
	if in.Yes("file") {
		reply.Files, err = c.varietyFiles(ctx, seat.Member, shown)
	}
	return reply, err
}

func howMany(shown, all int) string {
	switch {
	case all == 0:
		return `The co-op keeps no variety yet. Add one, as in /variety add name:Saltmarsh like:"late spray".`
	case shown == 0:
		return fmt.Sprintf("None of the co-op's %s is like that. /variety list names them all.", plural(all, "variety", "varieties"))
	case shown < all:
		return fmt.Sprintf("%d of %s.", shown, plural(all, "variety", "varieties"))
	}
	return plural(all, "variety", "varieties") + "."
}
