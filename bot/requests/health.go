package requests

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// healths is the family of pests that travel with stock.
func healths(c counter) bot.Family {
	return bot.Family{Name: "health", Help: "Pests that travel with stock: report them, trace them, and clear what is held back", Requests: []bot.Request{
		{Name: "report", Help: "Report a pest on your plants: they and their kin are held back, and who should look is told",
			Examples: []string{"/health report pest:\"white rust\" batch:27-14", "/health report pest:verticillium variety:Saltmarsh sure:seen group:variety",
				"/health report pest:other what:\"grey spots\" spot:\"bench 2\" seen:yesterday", "/health report number:3 sure:confirmed"},
			Fields: append([]bot.Field{
				{Name: "pest", Help: "the pest, or other", Kind: bot.NamedKind, Complete: completePests},
				c.batchField("batch", "the plants it is on, by the mark on their label", false),
				c.varietyField(false),
				c.spotField(),
				{Name: "what", Help: "what you see, in words", Kind: bot.TextKind, Max: new(300.0)},
				{Name: "seen", Help: "the day it was seen; today if left out", Kind: bot.DayKind, Sense: calendar.Done},
				{Name: "sure", Help: "how sure it is; suspected if left out", Kind: bot.ChoiceKind, Choices: []bot.Choice{
					{Label: "suspected", Value: string(register.Suspected)}, {Label: "seen plainly", Value: string(register.SawIt)},
					{Label: "confirmed by a laboratory or inspector", Value: string(register.Confirmed)}}},
				{Name: "group", Help: "what the group may hear of it; nothing if left out", Kind: bot.ChoiceKind, Choices: []bot.Choice{
					{Label: "nothing", Value: string(register.Silent)}, {Label: "the pest alone", Value: string(register.AloudPest)},
					{Label: "the pest and the variety", Value: string(register.AloudVariety)}, {Label: "those and your name", Value: string(register.AloudName)}}},
				{Name: "number", Help: "a report of yours that changes: how sure it is, what the group may hear", Kind: bot.WholeKind, Min: new(1.0)},
				c.forField(),
			}, photosAlone()...),
			Handle: c.healthReport},
		{Name: "trace", Help: "Where a reported pest may have come from and gone, and which plants to look at first",
			Examples: []string{"/health trace", "/health trace report:3", "/health trace batch:27-14"},
			Fields: []bot.Field{
				{Name: "report", Help: "the number of the report; those that concern you if left out", Kind: bot.WholeKind, Bare: true, Min: new(1.0)},
				c.batchField("batch", "a batch that is held back by one", false),
			},
			Right:  bot.Member,
			Handle: c.healthTrace},
		{Name: "clear", Help: "End what holds plants back, with a reason; who was told of it is told",
			Examples: []string{"/health clear batch:27-14 reason:\"looked at for eight weeks, spotless\"", "/health clear report:3 reason:\"the laboratory found soot\"", "/health clear"},
			Fields: []bot.Field{
				c.batchField("batch", "the batch that is held", false),
				{Name: "report", Help: "a report of yours: all that it holds", Kind: bot.WholeKind, Min: new(1.0)},
				{Name: "reason", Help: "why, for the record and for those who were told", Kind: bot.TextKind, Bare: true, Max: new(300.0)},
				c.forField(),
			},
			Right:  bot.Member,
			Handle: c.healthClear},
	}}
}

// completePests offers the pests by name, with their Latin ones.
func completePests(_ context.Context, _ *bot.In, typed string) (choices []bot.Choice, err error) {
	for _, p := range health.Pests() {
		label := p.Name
		if p.Latin != "" && !strings.EqualFold(p.Latin, p.Name) {
			label += " (" + p.Latin + ")"
		}
		choices = append(choices, bot.Choice{Label: label, Value: p.Name})
	}
	return bot.Matching(choices, typed), nil
}

// readPest reads the pest by any of its names, or the beginning of one.
func readPest(in *bot.In) health.Pest {
	if !in.Has("pest") {
		return health.Pest{}
	}
	return bot.Take(in, "pest", health.ReadPest)
}

func (c counter) healthReport(ctx context.Context, in *bot.In) (bot.Reply, error) {
	pest := readPest(in)
	s := register.Sighting{Pest: pest.Key, What: in.Text("what"), Seen: in.Day("seen"), Sure: register.Sureness(in.Choice("sure")), Aloud: register.Aloud(in.Choice("group"))}
	notAhead(in, "seen", s.Seen)
	if in.Has("number") {
		return c.amendReport(ctx, in, s)
	}
	if in.Err() == nil && !in.Has("pest") {
		in.Fail(fault.New(fault.Unclear, "Which pest is it? Add pest: with one of them, or pest:other and what: with what you see."))
	}
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	batches := c.sighted(ctx, in, seat, own)
	s.Photos = c.photos(ctx, in)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	for _, b := range batches {
		s.Batches = append(s.Batches, b.ID)
	}
	out, err := c.reg.Sight(ctx, actor, s)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := sightedReply(in, seat, own, actor, pest, out)
	if n := len(s.Photos); n > 0 {
		reply.Text = paragraphs(reply.Text, fmt.Sprintf("%s kept with it, for %s alone: /health trace shows them.", plural(n, "photo is", "photos are"), own.Name))
	}
	return reply, nil
}

// sighted gives the batches that the fields name: one, or all of the member's live ones of a variety, at a spot, or both.
func (c counter) sighted(ctx context.Context, in *bot.In, seat register.Seat, own register.Member) []register.Batch {
	batch := c.batch(ctx, in, seat.Coop.ID, "batch")
	v := c.variety(ctx, in, seat.Coop.ID, own, "variety")
	spot := in.Text("spot")
	switch {
	case in.Err() != nil:
		return nil
	case batch.ID != 0:
		return []register.Batch{batch}
	case v.ID == 0 && spot == "":
		in.Fail(fault.New(fault.Unclear, "On which plants? Add batch:, variety:, or spot: for all that stand there."))
		return nil
	}
	all, err := c.reg.Batches(ctx, own.ID, v.ID)
	if err != nil {
		in.Fail(err)
		return nil
	}
	all = slices.DeleteFunc(all, func(b register.Batch) bool { return spot != "" && variety.Fold(b.Spot) != variety.Fold(spot) })
	if len(all) == 0 {
		in.Fail(fault.New(fault.Missing, "%s has no such plants in the register. /stock list shows those that are, and batch: names one.", own.Name))
	}
	return all
}

func marksOf(batches []register.Batch) []string {
	marks := make([]string, len(batches))
	for i, b := range batches {
		marks[i] = b.Mark + " (" + b.Name + ")"
	}
	return marks
}

func sightedReply(in *bot.In, seat register.Seat, own register.Member, actor register.Actor, pest health.Pest, out register.Sighted) bot.Reply {
	rep := out.Report
	number := strconv.FormatInt(rep.ID, 10)
	reply := bot.Reply{Title: titleOf(seat, own) + "Report " + number + ": " + rep.PestName() + " on " + some(marksOf(rep.Batches), 3), Private: true}
	var text prose
	for _, caution := range pest.Heeded(register.Seat{Coop: seat.Coop, Member: own}.Country()) {
		text.add("%s", caution)
	}
	text.add("%s%s on %s, %s. Held back from offers and handovers until %s%s.%s", recordedFor(own, actor), upper(rep.PestName()), rep.Seen.Long(), rep.Sure.Words(),
		out.Last.Long(), kinWords(out), sureNext(rep))
	if out.Warned > 0 {
		text.add("%s told to look today, of their own plants alone.", plural(out.Warned, "other member is", "other members are"))
	} else {
		text.add("Nobody else has plants that should be looked at.")
	}
	if len(out.Beside) > 0 {
		text.add("What else stands beside it? Look at %s today; if it is on them too, report it.", some(marksOf(out.Beside), 6))
	} else if !slices.ContainsFunc(rep.Batches, func(b register.Batch) bool { return b.Spot != "" }) {
		text.add("What else stands beside it? Where it stands is not recorded: look at its neighbours today, and tell the spot with /stock move, so that the trace knows them.")
	}
	text.add("%s", saidWords(pest))
	text.add("%s", aloudWords(rep.Aloud))
	reply.Text = text.String()
	who := in.Text("for")
	reply.Next = []bot.Next{{Label: "Trace it: where from, where to", Request: bot.Typed("/health trace", "report", number)}}
	for i, b := range out.Beside {
		if i == 3 {
			break
		}
		reply.Next = append(reply.Next, bot.Next{Label: "It is on " + b.Mark + " too", Request: bot.Typed("/health report", "pest", string(rep.Pest), "batch", b.Mark, "what", rep.What,
			"seen", rep.Seen.String(), "sure", string(rep.Sure), "for", who)})
	}
	if rep.Aloud == register.Silent {
		reply.Next = append(reply.Next, bot.Next{Label: "Tell the group the pest alone", Request: bot.Typed("/health report", "number", number, "group", string(register.AloudPest), "for", who)})
	}
	reply.Next = append(reply.Next, bot.Next{Label: "That was a mistake", Request: bot.Typed("/job undo", "which", strconv.FormatInt(rep.Event, 10), "for", who)})
	return reply
}

// sureNext says what being surer would change.
func sureNext(rep register.Report) string {
	if rep.Sure == register.Confirmed {
		return ""
	}
	return fmt.Sprintf(" It is held the same however sure it is; once a laboratory or inspector found it, /health report number:%d sure:confirmed tells those who know of it.", rep.ID)
}

// kinWords says what else a report holds.
func kinWords(out register.Sighted) string {
	var each []string
	if len(out.Kin) > 0 {
		each = append(each, some(marksOf(out.Kin), 6))
	}
	if out.Others > 0 {
		each = append(each, plural(out.Others, "batch of other members", "batches of other members"))
	}
	if len(each) == 0 {
		return "; no kin parted from it in the time that counts"
	}
	return ", with its kin: " + listed(each)
}

// saidWords gives what is said of a pest, each saying with its source, and where sources differ all that they say.
func saidWords(p health.Pest) string {
	var said []string
	for _, s := range p.Said {
		said = append(said, s.Text+" ("+s.Source+")")
	}
	for _, d := range p.Differ {
		var each []string
		for _, s := range d.Said {
			each = append(each, s.Text+" ("+s.Source+")")
		}
		said = append(said, "Sources differ on "+d.On+": "+strings.Join(each, " "))
	}
	return strings.Join(said, "\n")
}

func aloudWords(a register.Aloud) string {
	switch a {
	case register.AloudPest:
		return "The group hears of the pest, without variety or name."
	case register.AloudVariety:
		return "The group hears of the pest and the variety, without a name."
	case register.AloudName:
		return "The group hears of it with your name."
	}
	return "The group hears nothing of it until you say so."
}

// amendReport changes how sure a report is and what the group may hear.
func (c counter) amendReport(ctx context.Context, in *bot.In, s register.Sighting) (bot.Reply, error) {
	for _, field := range []string{"pest", "batch", "variety", "spot", "seen", "photo", "photo-2", "photo-3"} {
		if in.Has(field) {
			in.Fail(fault.New(fault.Unclear, "number: changes how sure a report is (sure:), what the group may hear (group:) and its words (what:); %s: stays as it was. Take it back and report it anew instead.", field))
		}
	}
	if s.Sure == "" && s.Aloud == "" && s.What == "" {
		in.Fail(fault.New(fault.Unclear, "What changes? Add sure:, group: or what:."))
	}
	number := in.Whole("number")
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if in.Err() == nil && seat.Zero() {
		in.Fail(fault.New(fault.Missing, "There is no report %d. /health trace lists those that concern you.", number))
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	rep, err := c.reg.Amend(ctx, actor, register.Amended{Report: int64(number), Sure: s.Sure, Aloud: s.Aloud, What: s.What})
	if err != nil {
		return bot.Reply{}, err
	}
	text := fmt.Sprintf("%s is %s. %s", upper(rep.PestName()), rep.Sure.Words(), aloudWords(rep.Aloud))
	if s.Sure != "" {
		text += " Those who were told of it are told."
	}
	return bot.Reply{Title: titleOf(seat, own) + "Report " + strconv.FormatInt(rep.ID, 10) + " changed", Text: text, Private: true}, nil
}
