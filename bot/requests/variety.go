package requests

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// varieties holds what the co-op knows of its varieties.
func varieties(c counter) bot.Family {
	return bot.Family{Name: "variety", Help: "The varieties of the co-op: when they bloom, and what they are like", Requests: []bot.Request{{
		Name:     "add",
		Help:     "Add a variety, or change what is known of one",
		Examples: []string{`/variety add name:Saltmarsh like:"late spray" colour:bronze`, `/variety add name:Ninepence response:7.5 natural:"20 sep" natural-at:52`, "/variety add name:Salt-Marsh same-as:Saltmarsh"},
		Fields:   c.varietyFields(),
		Form:     []string{"name", "like", "colour", "response", "natural"},
		Handle:   c.varietyAdd,
	}, {
		Name:     "show",
		Help:     "All that is known of a variety, and who keeps it",
		Examples: []string{"/variety show Saltmarsh"},
		Fields:   []bot.Field{bare(c.varietyField(true))},
		Handle:   c.varietyShow,
	}, {
		Name:     "list",
		Help:     "The varieties of the co-op",
		Examples: []string{"/variety list", "/variety list season:late mine:yes"},
		Fields: []bot.Field{
			{Name: "season", Help: "only earlies, mids or lates", Kind: bot.ChoiceKind, Choices: seasons()},
			{Name: "form", Help: "only of one form, such as spray", Kind: bot.TextKind, Complete: completeForms},
			{Name: "colour", Help: "only of a colour, or with that word in it", Kind: bot.TextKind},
			{Name: "mine", Help: "only those that you keep", Kind: bot.YesKind},
			fileField("varieties.csv and stops.csv, which /stock add file: reads"),
		},
		Handle: c.varietyList,
	}, {
		Name:     "stops",
		Help:     "The dated stops of a variety: list them, add one, or drop one",
		Examples: []string{"/variety stops Saltmarsh", `/variety stops variety:Saltmarsh on:"5 jun" bloom:"8 nov" at:52 source:"the co-op's 2025 notes"`, "/variety stops variety:Saltmarsh own:yes response:9.5"},
		Fields: []bot.Field{
			bare(c.varietyField(true)),
			{Name: "on", Help: "the day of the stop: 5 jun", Kind: bot.AnnualKind},
			{Name: "second", Help: "the day of the second stop, if there is one", Kind: bot.AnnualKind},
			{Name: "bloom", Help: "the day of bloom that it leads to", Kind: bot.AnnualKind},
			{Name: "at", Help: "the latitude it was written for; yours if left out", Kind: bot.TextKind},
			{Name: "source", Help: "whose key it is", Kind: bot.TextKind},
			{Name: "drop", Help: "the day of a stop to take out", Kind: bot.AnnualKind},
			{Name: "own", Help: "yes for a stop that holds for you alone", Kind: bot.YesKind},
			{Name: "response", Counts: []string{"week"}, Help: "your own weeks from short days to bloom; 0 takes the co-op's", Kind: bot.NumberKind},
			c.forField(),
		},
		Handle: c.varietyStops,
	}}}
}

func bare(f bot.Field) bot.Field {
	f.Bare = true
	return f
}

func (c counter) varietyFields() []bot.Field {
	return []bot.Field{
		{Name: "name", Help: "its name; one that is there already is changed", Kind: bot.TextKind, Required: true, Bare: true, Complete: c.completeVarieties},
		{Name: "like", Help: "a season and a form to start from: late spray", Kind: bot.TextKind, Complete: completeClasses},
		{Name: "season", Help: "early, mid or late", Kind: bot.TextKind, Complete: completeSeasons},
		{Name: "form", Help: "the form of the flower, such as incurved", Kind: bot.TextKind, Complete: completeForms},
		{Name: "section", Help: "its NCS (UK) section, as in 25b: season and form", Kind: bot.TextKind},
		{Name: "us-class", Help: "its US class, 1 to 13: form only", Kind: bot.WholeKind},
		{Name: "colour", Help: "its colour, or none", Kind: bot.TextKind},
		{Name: "response", Counts: []string{"week"}, Help: "weeks from the start of short days to bloom: 9.5", Kind: bot.NumberKind},
		{Name: "natural", Help: "the day on which it blooms by itself: 5 nov", Kind: bot.AnnualKind},
		{Name: "natural-at", Help: "the latitude that day holds for; yours if left out", Kind: bot.TextKind},
		{Name: "bud-hours", Counts: hourWords(), Help: "the day length below which it sets buds: 14.5", Kind: bot.NumberKind},
		{Name: "flower-hours", Counts: hourWords(), Help: "the day length below which buds go on to flower: 13.5", Kind: bot.NumberKind},
		{Name: "stops", Counts: []string{"stop"}, Help: "how often it is stopped, 1 or 2", Kind: bot.WholeKind},
		{Name: "kept", Counts: []string{"stem"}, Help: "stems kept on a plant", Kind: bot.WholeKind},
		{Name: "shoots", Counts: []string{"shoot", "cutting"}, Help: "usable shoots that a woken stool gives", Kind: bot.NumberKind},
		{Name: "protection", Help: "breeders' rights", Kind: bot.ChoiceKind, Choices: bot.Choices("unknown", "free", "protected", "licensed")},
		{Name: "until", Help: "the day until which it is protected", Kind: bot.DayKind},
		{Name: "licence", Help: "whose licence, or its number", Kind: bot.TextKind},
		{Name: "rename", Help: "a new name for it", Kind: bot.TextKind},
		{Name: "same-as", Help: "the variety that it really is: the two are joined, by a steward", Kind: bot.NamedKind, Complete: c.completeVarieties},
		{Name: "sure", Help: "yes when it is really meant", Kind: bot.YesKind},
	}
}

func seasons() []bot.Choice { return bot.Choices("early", "mid", "late") }

func completeSeasons(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	return bot.Matching(seasons(), typed), nil
}

func completeForms(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	var names []string
	for _, form := range variety.Forms() {
		names = append(names, string(form))
	}
	return bot.Matching(bot.Choices(names...), typed), nil
}

func completeClasses(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	var choices []bot.Choice
	for _, class := range variety.Classes() {
		choices = append(choices, bot.Choice{Label: class.Name + " (" + class.Note + ")", Value: class.Name})
	}
	return bot.Matching(choices, typed), nil
}

func (c counter) varietyAdd(ctx context.Context, in *bot.In) (bot.Reply, error) {
	name := bot.Take(in, "name", variety.CleanName)
	seat := c.seat(ctx, in)
	if in.Has("same-as") {
		return c.varietyJoin(ctx, in, seat)
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	v, err := c.reg.VarietyNamed(ctx, seat.Coop.ID, name)
	switch {
	case fault.KindOf(err) == fault.Missing:
		return c.varietyNew(ctx, in, seat, name)
	case err != nil:
		return bot.Reply{}, err
	}
	return c.varietyChange(ctx, in, v)
}

// varietyNew adds a variety, once it is sure that it is none of those with a name like it.
func (c counter) varietyNew(ctx context.Context, in *bot.In, seat register.Seat, name string) (bot.Reply, error) {
	if in.Has("rename") {
		return bot.Reply{}, fault.New(fault.Missing, "The co-op keeps no variety %q that could be renamed. /variety list names those it does.", name)
	}
	v := describe(in, variety.Variety{Name: name}, seat)
	if err := first(in.Err(), v.Check()); err != nil {
		return bot.Reply{}, err
	}
	if near, err := c.reg.NearVarieties(ctx, seat.Coop.ID, name, 5); err != nil || len(near) > 0 && !in.Yes("sure") {
		return askNear(in, name, near), err
	}
	seat = c.enter(ctx, in)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	added, err := c.reg.AddVariety(ctx, register.Actor{Member: seat.Member.ID, At: in.At}, v)
	if err != nil {
		return bot.Reply{}, err
	}
	facts := varietyFacts(added.Variety)
	return bot.Reply{
		Title: added.Name,
		Text:  paragraphs("Added to the co-op's varieties. What was not told takes its default.", lacks(added.Variety), notTold(facts), added.Caution(in.Today())),
		Rows:  factTable(slices.DeleteFunc(known(facts), fact.isDefault)),
		Next: []bot.Next{
			{Label: "All that holds for it", Request: bot.Typed("/variety show", "variety", added.Name)},
			{Label: "Enter plants of it", Request: bot.Typed("/stock add", "variety", added.Name)},
			{Label: "Aim at a bloom", Request: bot.Typed("/target set", "variety", added.Name)},
		},
	}, nil
}

// askNear asks whether a variety is one of those with a name like it.
func askNear(in *bot.In, name string, near []string) bot.Reply {
	reply := bot.Reply{
		Text:    fmt.Sprintf("The co-op keeps %s already. Is %s another one? Nothing is added yet.", strings.Join(near, ", "), name),
		Private: true,
		Next:    []bot.Next{{Label: "It is another one", Request: surely(in)}},
	}
	for _, other := range near {
		reply.Next = append(reply.Next, bot.Next{Label: "It is " + other, Request: bot.Typed("/variety show", "variety", other)})
	}
	return reply
}

// surely writes the request again, as really meant.
func surely(in *bot.In) string {
	again := in.Ask
	again.Fields = append(slices.DeleteFunc(slices.Clone(in.Fields), func(e bot.Entry) bool { return e.Field == "sure" }), bot.Entry{Field: "sure", Text: "yes"})
	return again.String()
}

func (c counter) varietyChange(ctx context.Context, in *bot.In, v register.Variety) (bot.Reply, error) {
	if !told(in, "name", "sure") {
		return bot.Reply{}, fault.New(fault.Taken, "The co-op keeps %s already. Add the fields that should change, or see what is known with %s.", v.Name, bot.Typed("/variety show", "variety", v.Name))
	}
	seat := c.enter(ctx, in)
	changed := describe(in, v.Variety, seat)
	put(in, "rename", &changed.Name, func(field string) string { return bot.Take(in, field, variety.CleanName) })
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	effect, err := c.watch(ctx, seat, v.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	moved, err := c.reg.ChangeVariety(ctx, register.Actor{Member: seat.Member.ID, At: in.At}, v.ID, changed)
	if err != nil {
		return bot.Reply{}, err
	}
	done := changes(varietyFacts(v.Variety), varietyFacts(changed))
	switch {
	case changed.Name != v.Name:
		done = append([]string{v.Name + " is called " + changed.Name + " now."}, done...)
	case len(done) == 0:
		done = []string{"That was known already."}
	}
	led, rows, err := effect.tell(ctx, moved)
	return bot.Reply{
		Title: changed.Name,
		Text:  paragraphs(strings.Join(done, "\n"), changed.Caution(in.Today()), led),
		Rows:  rows,
		Next:  []bot.Next{{Label: "All that is known of it", Request: bot.Typed("/variety show", "variety", changed.Name)}},
	}, err
}

// varietyJoin makes the variety named the one that it is said to be the same as.
func (c counter) varietyJoin(ctx context.Context, in *bot.In, seat register.Seat) (bot.Reply, error) {
	if in.Right < bot.Steward {
		in.Fail(fault.New(fault.Barred, "Only a steward joins two varieties. Ask one; /coop show names them."))
	}
	from, into := c.variety(ctx, in, seat.Coop.ID, register.Member{}, "name"), c.variety(ctx, in, seat.Coop.ID, register.Member{}, "same-as")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if from.ID == into.ID {
		return bot.Reply{}, fault.New(fault.Unclear, "That is %s twice. Name two varieties to join.", into.Name)
	}
	if !in.Yes("sure") {
		kept, err := c.reg.BatchesOf(ctx, from.ID)
		return bot.Reply{
			Text: fmt.Sprintf("All that is recorded of %s, with %s, goes to %s, and the name %s is gone. What is known of %s stays as it is. This cannot be undone.",
				from.Name, plural(len(kept), "batch", "batches"), into.Name, from.Name, into.Name),
			Private: true,
			Next:    []bot.Next{{Label: "Yes, they are the same", Request: surely(in)}},
		}, first(in.Err(), err)
	}
	seat = c.enter(ctx, in)
	joined, err := c.reg.Join(ctx, register.Actor{Member: seat.Member.ID, At: in.At}, from.ID, into.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	return bot.Reply{
		Title: joined.Name,
		Text:  fmt.Sprintf("%s is %s now, with all its plants, targets and records.", from.Name, joined.Name),
		Next:  []bot.Next{{Label: "All that is known of it", Request: bot.Typed("/variety show", "variety", joined.Name)}},
	}, nil
}
