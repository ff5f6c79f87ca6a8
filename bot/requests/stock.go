package requests

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// stock is the family of the plants that members have.
func stock(c counter) bot.Family {
	return bot.Family{Name: "stock", Help: "The plants you have: batches, their numbers and their labels", Requests: []bot.Request{
		{Name: "add", Help: "Enter plants that you have as a batch", Handle: c.stockAdd,
			Examples: []string{"/stock add variety:Saltmarsh count:12 stage:boxed spot:\"box 3\"", "/stock add variety:Ninepence count:40 stage:struck since:\"3 feb\" from:27-4", "/stock add file:stock.csv"},
			Fields: []bot.Field{
				c.varietyField(true),
				{Name: "count", Also: "number", Counts: ofPlants(), Help: "how many plants", Kind: bot.WholeKind, Required: true, Min: new(1.0), Max: new(100000.0)},
				stageField("what they are at; boxed stools if left out"),
				{Name: "since", Help: "the day from which they are at it; today if left out", Kind: bot.DayKind, Sense: calendar.Done},
				c.spotField(),
				c.batchField("from", "the mark of the batch they were raised from", false),
				{Name: "target", Help: "the target they are meant for", Kind: bot.NamedKind, Complete: c.completeTargets},
				{Name: "new", Help: "yes if they came in from elsewhere just now: they stand apart for a time", Kind: bot.YesKind},
				noteField("note", "anything to remember of them"),
				{Name: "file", Help: "in place of all that: a list of plants, varieties, targets or notes, as a CSV file", Kind: bot.FileKind, Instead: true},
				{Name: "list", Help: "the number of a list that was shown, to enter it", Kind: bot.WholeKind, Min: new(1.0), Instead: true},
				{Name: "varieties", Help: "yes to add the varieties of a list that the co-op lacks", Kind: bot.YesKind},
				{Name: "undo", Help: "yes to take back what was entered from a list", Kind: bot.YesKind},
				c.forField(),
			}},
		{Name: "list", Help: "What you have, batch by batch", Handle: c.stockList,
			Examples: []string{"/stock list", "/stock list variety:Saltmarsh all:yes", "/stock list stage:boxed who:Maren", "/stock list batch:27-14"},
			Fields: []bot.Field{
				c.varietyField(false),
				stageField("only those at this stage"),
				{Name: "who", Help: "another member's", Kind: bot.MemberKind, Complete: c.completeMembers},
				{Name: "all", Help: "yes for every member's", Kind: bot.YesKind},
				c.batchField("batch", "one batch: how its number came about, and what it came from", false),
				chartField(),
				fileField("stock.csv, which /stock add file: reads"),
			}},
		{Name: "count", Help: "Put a batch's number right; without a number it tells how the number came about", Handle: c.stockCount,
			Examples: []string{"/stock count batch:26-3 number:9 died:yes", "/stock count batch:26-3 number:14 why:\"two trays overlooked\"", "/stock count batch:26-3"},
			Fields: []bot.Field{
				c.batchField("batch", "the mark on its label", true),
				{Name: "number", Also: "count", Counts: ofPlants(), Help: "how many there are", Kind: bot.WholeKind, Min: new(0.0), Max: new(100000.0)},
				{Name: "died", Help: "yes if what is missing died, no if it was counted wrongly before", Kind: bot.YesKind},
				{Name: "on", Help: "the day of counting; today if left out", Kind: bot.DayKind, Sense: calendar.Done},
				noteField("why", "what became of them"),
				c.forField(),
			}},
		{Name: "move", Help: "Move a batch or part of it, or mean it for a target", Handle: c.stockMove,
			Examples: []string{"/stock move batch:27-14 spot:\"bench 2\"", "/stock move batch:27-14 count:6 spot:tunnel", "/stock move batch:27-14 target:\"Saltmarsh 2027-11-05\"", "/stock move batch:27-14 since:\"3 feb\""},
			Fields: []bot.Field{
				c.batchField("batch", "the mark on its label", true),
				{Name: "count", Also: "number", Counts: ofPlants(), Help: "how many, if not all: they become a batch of their own", Kind: bot.WholeKind, Min: new(1.0), Max: new(100000.0)},
				c.spotField(),
				{Name: "target", Help: "the target they are meant for", Kind: bot.NamedKind, Complete: c.completeTargets},
				{Name: "since", Help: "the day from which they are at their stage, where a wrong one was entered", Kind: bot.DayKind, Sense: calendar.Done},
				{Name: "on", Help: "the day of moving; today if left out", Kind: bot.DayKind, Sense: calendar.Done},
				noteField("note", "anything to remember of it"),
				c.forField(),
			}},
		{Name: "label", Help: "Labels: what to write on them, or pages of them to print", Handle: c.stockLabel,
			Examples: []string{"/stock label batch:27-14", "/stock label variety:Saltmarsh", "/stock label size:pot", "/stock label stage:boxed size:box paper:letter"},
			Fields: []bot.Field{
				c.batchField("batch", "the batch; all of yours if left out", false),
				c.varietyField(false),
				stageField("only those at this stage"),
				labelSizeField(), paperField(),
				{Name: "copies", Help: "how many of each to print; one a pot, plant, tray or box if left out", Kind: bot.WholeKind, Min: new(1.0), Max: new(1000.0)},
			}},
	}}
}

// stages are those of a batch, in the order of the year.
var stages = []crop.Stage{crop.Boxed, crop.Woken, crop.Taken, crop.Struck, crop.Potted, crop.Planted, crop.Housed}

func stageField(help string) bot.Field {
	var choices []bot.Choice
	for _, known := range stageWords {
		also := strings.Fields(known.words)
		if known.stage == crop.Taken || known.stage == crop.Struck {
			also = append(also, "cutting", "cuttings")
		}
		choices = append(choices, bot.Choice{Label: string(known.stage), Value: string(known.stage), Also: also})
	}
	return bot.Field{Name: "stage", Help: help, Kind: bot.ChoiceKind, Choices: choices}
}

// ofPlants are what a number of plants may be of.
func ofPlants() []string { return []string{"plant", "stool", "cutting", "pot", "shoot"} }

func (c counter) batchField(name, help string, required bool) bot.Field {
	return bot.Field{Name: name, Help: help, Kind: bot.NamedKind, Required: required, Complete: c.completeBatches}
}

func (c counter) spotField() bot.Field {
	return bot.Field{Name: "spot", Help: "the bench, bed or box they stand in", Kind: bot.NamedKind, Max: new(60.0), Complete: c.completeSpots}
}

// completeSpots offers the places in which the asker's batches stand.
func (c counter) completeSpots(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	own, err := c.ownBatches(ctx, c.seat(ctx, in), "")
	var spots []string
	for _, b := range own {
		if b.Spot != "" && !slices.Contains(spots, b.Spot) {
			spots = append(spots, b.Spot)
		}
	}
	return bot.Matching(bot.Choices(spots...), typed), err
}

// fileField is the field by which a list is wanted as a file too.
func fileField(which string) bot.Field {
	return bot.Field{Name: "file", Help: "yes for spreadsheets: " + which, Kind: bot.YesKind}
}

func noteField(name, help string) bot.Field {
	return bot.Field{Name: name, Help: help, Kind: bot.TextKind, Max: new(300.0)}
}

// ownBatches gives a member's live batches at a stage, "" for any; none for who is no member.
func (c counter) ownBatches(ctx context.Context, seat register.Seat, stage crop.Stage) ([]register.Batch, error) {
	if seat.Zero() {
		return nil, nil
	}
	own, err := c.reg.Batches(ctx, seat.Member.ID, 0)
	return atStage(own, stage), err
}

func atStage(batches []register.Batch, stage crop.Stage) []register.Batch {
	if stage == "" {
		return batches
	}
	return slices.DeleteFunc(batches, func(b register.Batch) bool { return b.Stage != stage })
}

// plants names a number of plants by what they are at a stage: "12 stools", "1 cutting".
func plants(n int, stage crop.Stage) string {
	switch stage {
	case crop.Boxed, crop.Woken:
		return plural(n, "stool", "stools")
	case crop.Taken, crop.Struck:
		return plural(n, "cutting", "cuttings")
	}
	return plural(n, "plant", "plants")
}

func (c counter) stockAdd(ctx context.Context, in *bot.In) (bot.Reply, error) {
	switch {
	case in.Has("file"):
		return c.stockFile(ctx, in)
	case in.Has("list"):
		return c.stockListed(ctx, in)
	case in.Has("varieties") || in.Has("undo"):
		return bot.Reply{}, fault.New(fault.Unclear, "The fields varieties: and undo: go with the list: that they are about. Bring a list with file: first; one batch is taken back with /job undo.")
	}
	known := c.seat(ctx, in)
	v, err := c.reg.VarietyNamed(ctx, known.Coop.ID, in.Text("variety"))
	if missing, ok := errors.AsType[*fault.Error](err); ok && missing.Kind == fault.Missing && in.Err() == nil {
		return c.offerVariety(ctx, in, known, missing)
	}
	if err != nil {
		in.Fail(err)
	}
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	s := register.Stock{Variety: v.ID, Stage: crop.Stage(in.Choice("stage")), Since: in.Day("since"), Count: in.Whole("count"),
		Spot: in.Text("spot"), Note: in.Text("note"), New: in.Yes("new"), Parent: c.batch(ctx, in, seat.Coop.ID, "from").ID, Plan: c.target(ctx, in, own, "target").ID}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	assumed := ""
	if s.Stage == "" {
		s.Stage = crop.Boxed
		assumed = "They are taken for resting stools; if they are not, /job undo takes this back: enter them again with stage:."
	}
	out, err := c.reg.Add(ctx, actor, s)
	if err != nil {
		return bot.Reply{}, err
	}
	b := out.Batches[0]
	apart := ""
	if s.New {
		hold, err := c.reg.HoldOf(ctx, b.ID, in.Today())
		if err != nil {
			return bot.Reply{}, err
		}
		apart = apartWords(hold)
	}
	reply := bot.Reply{
		Title: "Batch " + b.Mark + ": " + b.Name, Private: true,
		Text: paragraphs(recordedFor(own, actor)+sentence(b)+" Write "+b.Mark+" on the label.", apart, assumed, movedWords(out.Moved, own.ID, pinch(seat))),
		Next: []bot.Next{{Label: "What to write on the label", Request: bot.Typed("/stock label", "batch", b.Mark)}},
	}
	if own.ID == seat.Member.ID {
		reply.Next = append(reply.Next,
			bot.Next{Label: "The dates of its year", Request: bot.Typed("/plan show", "variety", b.Name)},
			bot.Next{Label: "Aim at a bloom", Request: bot.Typed("/target set", "variety", b.Name)})
	}
	return reply, nil
}

// offerVariety refuses a variety that the co-op does not have, with the near ones and a new one prepared.
func (c counter) offerVariety(ctx context.Context, in *bot.In, seat register.Seat, missing *fault.Error) (bot.Reply, error) {
	var typed string
	var others []string
	for _, e := range in.Fields {
		if e.Field == "variety" {
			typed = bot.Clean(e.Text, false)
		} else {
			others = append(others, e.Field, e.Text)
		}
	}
	near, err := c.reg.NearVarieties(ctx, seat.Coop.ID, typed, 3)
	if err != nil {
		return bot.Reply{}, err
	}
	refusal := bot.Refusal{Kind: fault.Missing, Text: missing.Text}
	reply := bot.Reply{Private: true, Refusal: &refusal}
	for _, name := range near {
		reply.Next = append(reply.Next, bot.Next{Label: "It is " + name, Request: bot.Typed(in.Request, append([]string{"variety", name}, others...)...)})
	}
	reply.Next = append(reply.Next, bot.Next{Label: "It is a new one", Request: bot.Typed("/variety add", "name", typed)})
	return reply, nil
}

// sentence says what a batch is: "12 stools of Saltmarsh, boxed since Fri 20 Nov 2026 (box 3)."
func sentence(b register.Batch) string {
	text := fmt.Sprintf("%s of %s, %s since %s", plants(b.Count, b.Stage), b.Name, b.Stage, b.Since.Long())
	if b.Spot != "" {
		text += " (" + b.Spot + ")"
	}
	return text + "."
}

// recordedFor begins the answer to a steward who records for another member.
func recordedFor(own register.Member, actor register.Actor) string {
	if actor.For == 0 || actor.For == actor.Member {
		return ""
	}
	return "Recorded for " + own.Name + ". "
}

func (c counter) stockMove(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if !in.Has("spot") && !in.Has("target") && !in.Has("count") && !in.Has("since") {
		return bot.Reply{}, fault.New(fault.Unclear, "Where to? Add spot: for a bench or box, target: for what they are meant for, count: to part some off, or since: to put their first day right.")
	}
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	b := c.batch(ctx, in, seat.Coop.ID, "batch")
	s := register.Shift{Batch: b.ID, Count: in.Whole("count"), Spot: in.Text("spot"), Plan: c.target(ctx, in, own, "target").ID, Since: in.Day("since"), On: in.Day("on"), Note: in.Text("note")}
	notAhead(in, "on", s.On)
	notAhead(in, "since", s.Since)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	out, err := c.reg.Move(ctx, actor, s)
	if err != nil {
		return bot.Reply{}, err
	}
	var text []string
	for _, moved := range out.Batches {
		text = append(text, "Batch "+moved.Mark+": "+sentence(moved))
	}
	if out.Plan.ID != 0 && s.Plan != 0 {
		text = append(text, "Meant for "+targetName(out.Plan)+".")
	}
	last := out.Batches[len(out.Batches)-1]
	reply := bot.Reply{Title: "Moved: " + b.Name, Text: paragraphs(recordedFor(own, actor)+sentences(text), movedWords(out.Moved, own.ID, pinch(seat))), Private: true}
	if len(out.Batches) > 1 {
		reply.Next = []bot.Next{{Label: "What to write on the new label", Request: bot.Typed("/stock label", "batch", last.Mark)}}
	}
	return reply, nil
}
