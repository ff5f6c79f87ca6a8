package requests

import (
	"context"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/guide"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

func guideFamily(c counter) bot.Family {
	return bot.Family{Name: "guide", Help: "The handbook: how a thing is done, and why", Requests: []bot.Request{{
		Help:     "The handbook: how a thing is done, and why",
		Examples: []string{"/guide", "/guide stopping", "/guide how do I wake my stools", "/guide about:rooting more:yes"},
		Fields: []bot.Field{
			{Name: "about", Help: "a topic, or a question in your own words", Kind: bot.NamedKind, Bare: true, Complete: completeTopics},
			{Name: "more", Help: "yes for the whole text with its sources", Kind: bot.YesKind},
		},
		Handle: c.guide,
	}}}
}

func completeTopics(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	var topics []bot.Choice
	for _, t := range guide.Texts(false) {
		topics = append(topics, bot.Choice{Label: t.Title, Value: t.Key})
	}
	return bot.Matching(topics, typed), nil
}

func (c counter) guide(ctx context.Context, in *bot.In) (bot.Reply, error) {
	about, more := in.Text("about"), in.Yes("more")
	seat := c.seat(ctx, in)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if about == "" {
		return topics(pinch(seat)), nil
	}
	if t, ok := guide.Topic(about, pinch(seat)); ok {
		return c.page(ctx, in, seat, t, more, nil)
	}
	keeps, err := c.reg.Batches(ctx, seat.Member.ID, 0)
	if err != nil {
		return bot.Reply{}, err
	}
	named, rest := varietyIn(about, keeps)
	found, err := c.reg.SearchGuide(ctx, guide.Words(rest))
	if err != nil {
		return bot.Reply{}, err
	}
	if len(found.Topics) == 0 {
		return bot.Reply{}, notInGuide(found)
	}
	t, _ := guide.Topic(found.Topics[0], pinch(seat))
	reply, err := c.page(ctx, in, seat, t, more, named)
	if err != nil {
		return bot.Reply{}, err
	}
	reply.Text = sentences(readings(found)) + reply.Text
	for _, key := range found.Topics[1:min(3, len(found.Topics))] {
		if other, ok := guide.Topic(key, pinch(seat)); ok {
			reply.Next = append(reply.Next, bot.Next{Label: "Or: " + other.Title, Request: bot.Typed("/guide", "about", key)})
		}
	}
	return reply, nil
}

// topics lists the handbook.
func topics(pinch bool) bot.Reply {
	reply := bot.Reply{
		Title: "The handbook",
		Text:  "Name a topic, as in /guide stopping, or ask in your own words, as in /guide how do I wake my stools.",
		Rows:  bot.Table{Columns: bot.Columns("topic", "about")},
	}
	for _, t := range guide.Texts(pinch) {
		reply.Rows.Add(bot.Text(t.Key), bot.Text(t.Title))
	}
	return reply
}

// page gives a text, in short or whole, with the asker's own days of its steps; of some varieties alone where named.
func (c counter) page(ctx context.Context, in *bot.In, seat register.Seat, t guide.Text, more bool, named []string) (bot.Reply, error) {
	reply := bot.Reply{Title: t.Title}
	var text prose
	text.add("%s", t.Short)
	if more {
		for _, p := range t.More {
			text.add("%s", p)
		}
	}
	own, job, err := c.ownDays(ctx, in, seat, t.Steps, named)
	if err != nil {
		return bot.Reply{}, err
	}
	text.add("%s", own)
	text.add("%s", strings.Join(t.Cautions, "\n"))
	if more {
		text.add("Sources: %s.", strings.Join(t.Sources, "; "))
	} else {
		reply.Next = append(reply.Next, bot.Next{Label: "More, and the sources", Request: bot.Typed("/guide", "about", t.Key, "more", "yes")})
	}
	if own != "" {
		reply.Private = true
		reply.Next = append(reply.Next, bot.Next{
			Label:   "Your " + job.Kind.Name(pinch(seat)) + " of " + job.Name,
			Request: bot.Typed("/plan show", "variety", job.Name, "step", job.Kind.Name(false)),
		})
	}
	reply.Text = text.String()
	return reply, nil
}

const daysTold = 4

// ownDays tells the asker's open jobs of some steps within a year, the first days first, and gives the first of them.
func (c counter) ownDays(ctx context.Context, in *bot.In, seat register.Seat, steps []crop.Kind, named []string) (string, register.Job, error) {
	if seat.Zero() || len(steps) == 0 {
		return "", register.Job{}, nil
	}
	jobs, err := c.reg.Due(ctx, seat.Member.ID, in.Today().Add(366))
	if err != nil {
		return "", register.Job{}, err
	}
	jobs = slices.DeleteFunc(jobs, func(j register.Job) bool {
		return !slices.Contains(steps, j.Kind) || len(named) > 0 && !slices.Contains(named, j.Name)
	})
	if len(jobs) == 0 {
		return "", register.Job{}, nil
	}
	var days []string
	for _, j := range jobs {
		days = append(days, j.Kind.Name(pinch(seat))+" "+j.Name+" on "+j.Due.Long())
	}
	return "Yours: " + some(days, daysTold) + ".", jobs[0], nil
}

// varietyIn takes the names of the asker's varieties out of a question.
func varietyIn(question string, keeps []register.Batch) (named []string, rest string) {
	rest = " " + variety.Fold(question) + " "
	for _, b := range keeps {
		name := variety.Fold(b.Name)
		if before, after, found := cutWords(rest, name); found {
			named, rest = append(named, b.Name), before+" "+after
		}
	}
	return named, rest
}

// cutWords cuts a text around words that stand in it whole.
func cutWords(text, words string) (before, after string, found bool) {
	for from := 0; ; {
		at := strings.Index(text[from:], words)
		if at < 0 || words == "" {
			return text, "", false
		}
		at += from
		before, after = text[:at], text[at+len(words):]
		if strings.HasSuffix(before, " ") && (after == "" || strings.ContainsAny(after[:1], " ?!.,;:'")) {
			return before, after, true
		}
		from = at + 1
	}
}

// readings says which words were taken for others.
func readings(found register.GuideFound) []string {
	var told []string
	for _, r := range found.Read {
		told = append(told, "I read \""+r.Typed+"\" as \""+r.Meant+"\".")
	}
	if len(told) > 0 {
		told = append(told, "\n\n")
	}
	return told
}

func notInGuide(found register.GuideFound) error {
	if len(found.Unknown) == 0 {
		return fault.New(fault.Missing, "The handbook does not know what to answer. Name the subject in a word or two, or see its topics with /guide.")
	}
	var words []string
	for _, word := range found.Unknown {
		words = append(words, "\""+word+"\"")
	}
	is := "are"
	if len(words) == 1 {
		is = "is"
	}
	return fault.New(fault.Missing, "The handbook does not know: %s %s not in it. See its topics with /guide, or ask the co-op.", some(words, 3), is)
}
