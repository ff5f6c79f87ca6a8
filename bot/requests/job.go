package requests

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func job(c counter) bot.Family {
	named := bot.Field{Name: "job", Help: "one of your jobs, such as stop Saltmarsh", Kind: bot.NamedKind, Required: true, Bare: true, Complete: c.completeJobs}
	maybe := named
	maybe.Required = false
	return bot.Family{Name: "job", Help: "What is to be done, what was done, and what is put off", Requests: []bot.Request{
		{
			Name: "due", Help: "Your jobs of the next days, overdue ones first",
			Examples: []string{"/job due", "/job due until:\"in 3 weeks\"", "/job due all:yes"},
			Fields: []bot.Field{
				{Name: "until", Help: "the last day to show; a week from now where left out", Kind: bot.DayKind},
				{Name: "all", Help: "yes for the jobs of the whole co-op, in short", Kind: bot.YesKind},
				c.forField(),
			},
			Right:  bot.Member,
			Handle: c.dueJobs,
		},
		{
			Name: "done", Help: "Record what was really done, and move what follows",
			Examples: []string{"/job done stop Saltmarsh on:friday", "/job done job:\"wake Saltmarsh\" count:11 lost:1", "/job done step:strike batch:27-1 count:40", "/job done water"},
			Fields: []bot.Field{
				maybe,
				{Name: "step", Help: "the step, for what was never planned", Kind: bot.NamedKind, Complete: completeSteps},
				c.varietyField(false),
				{Name: "batch", Help: "the mark of the plants it was done to", Kind: bot.NamedKind, Complete: c.completeBatches},
				{Name: "on", Help: "the day it was done; today where left out", Kind: bot.DayKind, Sense: calendar.Done},
				{Name: "count", Also: "number", Counts: append(ofPlants(), "stem"), Help: "how many plants, cuttings or stools came of it; all where left out", Kind: bot.WholeKind, Min: new(1.0), Max: new(1000000.0)},
				{Name: "lost", Counts: ofPlants(), Help: "how many had died by then", Kind: bot.WholeKind, Min: new(0.0), Max: new(1000000.0)},
				{Name: "spot", Help: "the bench, box or bed where they are now", Kind: bot.TextKind, Max: new(200.0)},
				{Name: "note", Help: "anything worth remembering", Kind: bot.TextKind, Max: new(200.0)},
				c.forField(),
			},
			Handle: c.doneJob,
		},
		{
			Name: "later", Help: "Put a job off to another day",
			Examples: []string{"/job later stop Saltmarsh to:tomorrow", "/job later job:\"disbud Saltmarsh\" to:\"1 oct\""},
			Fields: []bot.Field{
				named,
				{Name: "to", Help: "tomorrow, in 3 days, next week, or a day", Kind: bot.DayKind, Required: true},
				c.forField(),
			},
			Right:  bot.Member,
			Handle: c.laterJob,
		},
		{
			Name: "skip", Help: "Leave a job out",
			Examples: []string{"/job skip disbud Saltmarsh reason:\"left as a spray\""},
			Fields: []bot.Field{
				named,
				{Name: "reason", Help: "why, for the record", Kind: bot.TextKind, Max: new(200.0)},
				c.forField(),
			},
			Right:  bot.Member,
			Handle: c.skipJob,
		},
		{
			Name: "undo", Help: "Take back what was recorded by mistake; what it moved moves back",
			Examples: []string{"/job undo reason:\"it was the other bed\"", "/job undo reason:\"wrong day\" which:12"},
			Fields: []bot.Field{
				{Name: "reason", Help: "why, for the record", Kind: bot.TextKind, Required: true, Bare: true, Max: new(200.0)},
				{Name: "which", Help: "the number of what was recorded; the last where left out", Kind: bot.NamedKind, Complete: c.completeEvents},
				c.forField(),
			},
			Right:  bot.Member,
			Handle: c.undoJob,
		},
	}}
}

// doneJob records a job that was due, or a step that was never planned, and says what came of it.
func (c counter) doneJob(ctx context.Context, in *bot.In) (bot.Reply, error) {
	s := register.Step{Kind: bot.Take(in, "step", crop.ReadKind), On: in.Day("on"), Count: in.Whole("count"), Lost: in.Whole("lost"), Spot: in.Text("spot"), Note: in.Text("note")}
	notAhead(in, "on", s.On)
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	b := c.batch(ctx, in, seat.Coop.ID, "batch")
	s.Variety = c.variety(ctx, in, seat.Coop.ID, own, "variety").ID
	if b.ID != 0 {
		s.Batches = []int64{b.ID}
	}
	if j := c.job(ctx, in, own, "job"); j.kind != "" {
		if s.Kind != "" && s.Kind != j.kind {
			in.Fail(fault.New(fault.Unclear, "The job is to %s and the step is %s. Leave one of the two out.", j.kind.Phrase(pinch(seat)), s.Kind.Name(pinch(seat))))
		}
		s.Plan, s.Kind = j.plan.ID, j.kind
		if s.Variety == 0 {
			s.Variety = j.variety
		}
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if s.Kind == "" {
		return bot.Reply{}, fault.New(fault.Unclear, "Which job was done? Name it as in /job done stop Saltmarsh, or give step: with variety: or batch:. /job due lists your jobs.")
	}
	if s.Kind == crop.Pick { // a picking is a bloom seen, which later dates learn from
		bloom := register.Bloom{Variety: s.Variety, Plan: s.Plan, Batch: b.ID, Picked: s.On, Stems: s.Count, Note: s.Note}
		if bloom.Picked.IsZero() {
			bloom.Picked = in.Today()
		}
		return c.keepBloom(ctx, in, seat, actor, own, bloom, sight{})
	}
	before, err := c.reg.Plans(ctx, own.ID, s.Variety)
	if err != nil {
		return bot.Reply{}, err
	}
	out, err := c.reg.Done(ctx, actor, s)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := recorded(in, seat, own, before, out)
	if _, moves := crop.StageAfter(s.Kind); moves {
		next, err := c.spareNext(ctx, in, seat, own, s.Variety)
		if err != nil {
			return bot.Reply{}, err
		}
		reply.Next = slices.Insert(reply.Next, len(reply.Next)-1, next...)
	}
	return reply, nil
}

// recorded tells what a deed led to: the plants, the bloom, the jobs that moved, and what is too late now.
func recorded(in *bot.In, seat register.Seat, own register.Member, before []register.Plan, out register.Outcome) bot.Reply {
	word := pinch(seat)
	e := out.Event
	reply := bot.Reply{Title: titleOf(seat, own) + "Recorded: " + eventWords(e, word) + ", " + e.On.Long(), Private: true}
	var text prose
	text.add("%s", plantWords(out))
	i := slices.IndexFunc(before, func(p register.Plan) bool { return p.ID == out.Plan.ID })
	if i >= 0 {
		text.add("%s", sentences([]string{bloomMoved(before[i], out.Plan), movedWords(out.Moved, own.ID, word)}))
		if out.Plan.Missed != before[i].Missed {
			text.add("%s", out.Plan.Missed)
		}
	}
	if out.Plan.Ending == register.EndBoxed {
		text.add("With that the year of %s is over, and the next begins in the cold.", out.Plan.Name)
	}
	if e.By != own.ID {
		text.add("Recorded for %s by %s.", own.Name, e.ByName)
	}
	for _, b := range out.Batches {
		if b.Live() && b.Made == e.On && e.Deed == register.DidStep {
			reply.Next = append(reply.Next, bot.Next{Label: "The label of " + b.Mark, Request: bot.Typed("/stock label", "batch", b.Mark)})
		}
	}
	if out.Plan.ID != 0 && out.Plan.Ending == register.Running {
		reply.Next = append(reply.Next, bot.Next{Label: "The plan as it stands now", Request: bot.Typed("/plan show", append(planFields(out.Plan), "for", in.Text("for"))...)})
	}
	reply.Next = append(reply.Next, bot.Next{Label: "That was a mistake", Request: bot.Typed("/job undo", "which", strconv.FormatInt(e.ID, 10), "for", in.Text("for"))})
	reply.Text = text.String()
	return reply
}

// plantWords tells how the plants of a deed stand now; of care, only how many batches had it.
func plantWords(out register.Outcome) string {
	if out.Event.Deed == register.GaveCare {
		return plural(len(out.Batches), "batch", "batches") + " cared for."
	}
	var words []string
	for _, b := range out.Batches {
		words = append(words, batchWords(b))
	}
	switch e := out.Event; {
	case e.Lost > 0 && (e.Step == crop.Wake || e.Step == crop.Pot): // see register.Rates
		words = append(words, fmt.Sprintf("%d lost, which counts for the numbers of the next years", e.Lost))
	case e.Lost > 0:
		words = append(words, fmt.Sprintf("%d lost", e.Lost))
	}
	if len(words) == 0 {
		return ""
	}
	return strings.Join(words, ".\n") + "."
}

// eventWords tells what was recorded: "stop Saltmarsh", "put off disbud Saltmarsh".
func eventWords(e register.Event, pinch bool) string {
	words := map[register.Deed]string{
		register.PutOff: "put off ", register.Skipped: "skipped ", register.Added: "stock added", register.Counted: "count",
		register.Moving: "move", register.Aimed: "target", register.Dropped: "target dropped", register.SawBloom: "bloom",
		register.Gave: "given", register.Got: "received", register.PutRight: "swap put right",
		register.Reported: "pest reported", register.Cleared: "hold cleared",
	}[e.Deed]
	if e.Step != "" && e.Deed != register.SawBloom {
		words += e.Step.Name(pinch)
	}
	if e.Name != "" {
		words += " " + e.Name
	}
	return words
}

func (c counter) laterJob(ctx context.Context, in *bot.In) (bot.Reply, error) {
	to := in.Day("to")
	seat, actor, own, j := c.openJob(ctx, in)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	was, err := c.reg.Job(ctx, j.plan.ID, j.kind)
	if err != nil {
		return bot.Reply{}, err
	}
	if _, err := c.reg.Later(ctx, actor, j.plan.ID, j.kind, to); err != nil {
		return bot.Reply{}, err
	}
	var text prose
	switch {
	case !was.LastSafe.IsZero() && to > was.LastSafe:
		text.add("Take care: the last safe day is %s. After it %s.", was.LastSafe.Long(), was.Lost)
	case to > was.Window.Latest:
		text.add("That is after %s, the last day on which it fits the plan. What follows moves once it is recorded as done.", was.Window.Latest.Long())
	default:
		text.add("It still fits the plan, which has it between %s and %s.", was.Window.Earliest.Annual(), was.Window.Latest.Annual())
	}
	name := jobName(j.kind, j.plan)
	return bot.Reply{Title: titleOf(seat, own) + upper(j.kind.Name(pinch(seat))) + " " + j.plan.Name + " is put off to " + to.Long(), Text: text.String(), Private: true, Next: []bot.Next{
		{Label: "Done: " + name, Request: bot.Typed("/job done", "job", name, "for", in.Text("for"))},
	}}, nil
}

func (c counter) skipJob(ctx context.Context, in *bot.In) (bot.Reply, error) {
	reason := in.Text("reason")
	seat, actor, own, j := c.openJob(ctx, in)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	was, err := c.reg.Job(ctx, j.plan.ID, j.kind)
	if err != nil {
		return bot.Reply{}, err
	}
	out, err := c.reg.Skip(ctx, actor, j.plan.ID, j.kind, reason)
	if err != nil {
		return bot.Reply{}, err
	}
	text := "Nothing more is said of it this year."
	if was.Lost != "" {
		text = fmt.Sprintf("Mind that without it %s. %s", was.Lost, text)
	}
	return bot.Reply{Title: titleOf(seat, own) + "Skipped: " + j.kind.Name(pinch(seat)) + " " + j.plan.Name, Text: text, Private: true, Next: []bot.Next{
		{Label: "Bring it back", Request: bot.Typed("/job undo", "which", strconv.FormatInt(out.Event.ID, 10), "for", in.Text("for"))},
	}}, nil
}

// openJob reads who asks and the job that is named; care comes again by itself, so it cannot be put off or skipped.
func (c counter) openJob(ctx context.Context, in *bot.In) (register.Seat, register.Actor, register.Member, found) {
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	j := c.job(ctx, in, own, "job")
	if in.Err() == nil && j.plan.ID == 0 {
		in.Fail(fault.New(fault.Unclear, "To %s is care that comes again by itself and is never overdue, so there is nothing to put off or skip.", j.kind.Phrase(pinch(seat))))
	}
	return seat, actor, own, j
}

// undoJob takes back what was recorded last, or under a number.
func (c counter) undoJob(ctx context.Context, in *bot.In) (bot.Reply, error) {
	reason := in.Text("reason")
	which := bot.Take(in, "which", func(text string) (int64, error) {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 1 {
			return 0, fault.New(fault.Unclear, "%q is no number of what was recorded. Leave which: out for the last.", text)
		}
		return n, nil
	})
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if which == 0 {
		last, err := c.reg.LastEvent(ctx, own.ID)
		if err != nil {
			return bot.Reply{}, err
		}
		which = last.ID
	}
	before, err := c.reg.Plans(ctx, own.ID, 0)
	if err != nil {
		return bot.Reply{}, err
	}
	out, err := c.reg.Undo(ctx, actor, which, reason)
	if err != nil {
		return bot.Reply{}, err
	}
	word := pinch(seat)
	var text prose
	text.add("%s", plantWords(register.Outcome{Batches: out.Batches}))
	if i := slices.IndexFunc(before, func(p register.Plan) bool { return p.ID == out.Plan.ID }); i >= 0 {
		text.add("%s", sentences([]string{bloomMoved(before[i], out.Plan), movedWords(out.Moved, own.ID, word)}))
	}
	text.add("The record keeps both, with your reason.")
	return bot.Reply{Title: titleOf(seat, own) + "Taken back: " + eventWords(out.Event, word) + " of " + out.Event.On.Long(), Text: text.String(), Private: true}, nil
}

// completeEvents offers what was recorded last and stands.
func (c counter) completeEvents(ctx context.Context, in *bot.In, _ string) ([]bot.Choice, error) {
	seat, err := c.reg.Find(ctx, in.Coop.Key, in.Who.Key)
	if err != nil || seat.Zero() {
		return nil, err
	}
	log, err := c.reg.Log(ctx, seat.Member.ID, bot.Offered)
	var choices []bot.Choice
	for _, e := range log {
		if e.UndoneAt.IsZero() {
			choices = append(choices, bot.Choice{Label: eventWords(e, pinch(seat)) + ", " + e.On.Long(), Value: strconv.FormatInt(e.ID, 10)})
		}
	}
	return choices, err
}
