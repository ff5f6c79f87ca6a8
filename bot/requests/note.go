package requests

import (
	"context"
	"fmt"
	"strconv"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/photo"
	"shortday/knowledge/register"
)

func note(c counter) bot.Family {
	which := []bot.Field{
		c.varietyField(false),
		{Name: "batch", Help: "the mark of the plants that bloomed", Kind: bot.NamedKind, Complete: c.completeBatches},
		{Name: "target", Help: "the target it was for, such as Saltmarsh 2027-11-05", Kind: bot.NamedKind, Complete: c.completeTargets},
	}
	words := bot.Field{Name: "note", Help: "anything worth remembering", Kind: bot.TextKind, Max: new(200.0)}
	return bot.Family{Name: "note", Help: "What was seen: your diary, and the records that later dates learn from", Requests: append([]bot.Request{
		{
			Name: "bloomed", Help: "Record when a variety bloomed, so that next year's dates come nearer",
			Examples: []string{"/note bloomed variety:Saltmarsh full:\"4 nov\"", "/note bloomed variety:Saltmarsh first:\"29 oct\" full:\"4 nov\" stems:38"},
			Fields: append(append(which[:3:3],
				bot.Field{Name: "first", Help: "the day of the first bloom", Kind: bot.DayKind, Sense: calendar.Done},
				bot.Field{Name: "full", Help: "the day of full bloom", Kind: bot.DayKind, Sense: calendar.Done},
				bot.Field{Name: "stems", Counts: []string{"stem"}, Help: "how many stems there were", Kind: bot.WholeKind, Min: new(0.0), Max: new(100000.0)}),
				append(append([]bot.Field{words}, photoFields()[:2]...), c.forField())...),
			Handle: c.noteBloomed,
		},
		{
			Name: "picked", Help: "Record stems that were picked",
			Examples: []string{"/note picked variety:Saltmarsh stems:24", "/note picked target:\"Saltmarsh 2027-11-05\" stems:16 on:friday"},
			Fields: append(append(append([]bot.Field{{Name: "stems", Counts: []string{"stem"}, Help: "how many stems were picked", Kind: bot.WholeKind, Required: true, Min: new(1.0), Max: new(100000.0)}}, which...),
				bot.Field{Name: "on", Help: "the day of picking; today where left out", Kind: bot.DayKind, Sense: calendar.Done}),
				append(append([]bot.Field{words}, photoFields()[:2]...), c.forField())...),
			Handle: c.notePicked,
		},
	}, c.diary()...)}
}

func (c counter) noteBloomed(ctx context.Context, in *bot.In) (bot.Reply, error) {
	b := register.Bloom{First: in.Day("first"), Full: in.Day("full")}
	notAhead(in, "first", b.First)
	notAhead(in, "full", b.Full)
	return c.saw(ctx, in, b)
}

func (c counter) notePicked(ctx context.Context, in *bot.In) (bot.Reply, error) {
	b := register.Bloom{Picked: in.Day("on")}
	notAhead(in, "on", b.Picked)
	if b.Picked.IsZero() {
		b.Picked = in.Today()
	}
	return c.saw(ctx, in, b)
}

// saw records a bloom and says what later dates learn from it.
func (c counter) saw(ctx context.Context, in *bot.In, b register.Bloom) (bot.Reply, error) {
	b.Stems, b.Note = in.Whole("stems"), in.Text("note")
	seen := sight{c.photos(ctx, in), in.Yes("share")}
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	p := c.target(ctx, in, own, "target")
	b.Plan, b.Batch = p.ID, c.batch(ctx, in, seat.Coop.ID, "batch").ID
	if b.Variety = c.variety(ctx, in, seat.Coop.ID, own, "variety").ID; b.Variety == 0 {
		b.Variety = p.Variety
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if b.Variety == 0 && b.Batch == 0 {
		return bot.Reply{}, fault.New(fault.Unclear, "Which plants? Give the variety:, the batch: or the target:.")
	}
	return c.keepBloom(ctx, in, seat, actor, own, b, seen)
}

// keepBloom records a bloom. Its lesson is told with the first day of it, and not again with each picking.
func (c counter) keepBloom(ctx context.Context, in *bot.In, seat register.Seat, actor register.Actor, own register.Member, b register.Bloom, seen sight) (bot.Reply, error) {
	out, err := c.reg.SawBloom(ctx, actor, b)
	if err != nil {
		return bot.Reply{}, err
	}
	e := out.Event
	diary, err := c.keepSight(ctx, actor, b, e, seen)
	if err != nil {
		return bot.Reply{}, err
	}
	fresh := out.Plan.ID == 0 || out.Plan.Bloomed == e.On
	var text prose
	if out.Plan.ID != 0 {
		flush, err := c.reg.Flush(ctx, out.Plan.ID)
		if err != nil {
			return bot.Reply{}, err
		}
		against := ""
		if fresh {
			against = againstTarget(out.Plan)
		}
		text.add("%s", sentences([]string{against, pickedOf(flush.Stems, out.Plan.Stems)}))
	}
	lesson := ""
	if fresh {
		if lesson, err = c.lesson(ctx, in, own, e.Variety, out.Plan); err != nil {
			return bot.Reply{}, err
		}
	}
	text.add("%s", sentences([]string{lesson, movedWords(out.Moved, own.ID, pinch(seat))}))
	if e.By != own.ID {
		text.add("Recorded for %s by %s.", own.Name, e.ByName)
	}
	text.add("%s", diary)
	title := e.Name + " bloomed, " + e.On.Long()
	if !b.Picked.IsZero() {
		title = fmt.Sprintf("%s picked, %s", e.Name, e.On.Long())
		if b.Stems > 0 {
			title = plural(b.Stems, "stem of ", "stems of ") + title
		}
	}
	return bot.Reply{Title: titleOf(seat, own) + title, Text: text.String(), Private: true, Next: []bot.Next{
		{Label: "That was a mistake", Request: bot.Typed("/job undo", "which", strconv.FormatInt(e.ID, 10), "for", in.Text("for"))},
	}}, nil
}

// sight is what a diary keeps of a bloom beside its days.
type sight struct {
	photos []photo.Photo
	share  bool
}

// keepSight writes what was seen of a bloom into the diary, where there is a photo of it or the co-op is to see it.
func (c counter) keepSight(ctx context.Context, actor register.Actor, b register.Bloom, e register.Event, seen sight) (string, error) {
	if len(seen.photos) == 0 && !seen.share {
		return "", nil
	}
	n, err := c.reg.AddNote(ctx, actor, register.Note{Variety: e.Variety, Batch: b.Batch, Event: e.ID, On: e.On, Words: b.Note, Shared: seen.share}, seen.photos)
	if err != nil {
		return "", err
	}
	who := "only you see it"
	if seen.share {
		who = "the co-op sees it"
	}
	return fmt.Sprintf("It is note %d of your diary; %s.", n.ID, who), nil
}

// againstTarget sets a bloom against the days that were wanted.
func againstTarget(p register.Plan) string {
	off := p.Bloomed.Sub(p.Wanted.From)
	switch {
	case p.Keeps() || p.Bloomed.IsZero():
		return ""
	case off < 0:
		return plural(-off, "day", "days") + " before the day wanted."
	case p.Bloomed > p.Wanted.To:
		return plural(p.Bloomed.Sub(p.Wanted.To), "day", "days") + " after the day wanted."
	}
	return "On the day wanted."
}

func pickedOf(stems, wanted int) string {
	switch {
	case stems == 0:
		return ""
	case wanted == 0:
		return plural(stems, "stem", "stems") + " so far."
	}
	return fmt.Sprintf("%d of %s so far.", stems, plural(wanted, "stem", "stems"))
}

// lesson says what next year's forecast of a variety rests on now, and how far it may be off.
func (c counter) lesson(ctx context.Context, in *bot.In, own register.Member, id int64, p register.Plan) (string, error) {
	if p.Way == crop.Shaded || p.Way == crop.Lit {
		return "As its days were made, it teaches how long this variety takes from short days to bloom, not its natural season.", nil
	}
	rests, err := c.reg.Case(ctx, own.ID, id, crop.Target{}, in.Today())
	if err != nil {
		return "", err
	}
	rests.Done = nil // of this year
	f := crop.Forwards(rests, in.Today().Add(200))
	if f.Window.IsZero() {
		return "", nil
	}
	return fmt.Sprintf("Next year's forecast now rests on %s, and is ± %d days.", f.Why, f.Window.Latest.Sub(f.Window.Likely)), nil
}
