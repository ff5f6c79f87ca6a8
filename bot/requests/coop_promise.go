package requests

import (
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

func (c counter) promiseRequest() bot.Request {
	return bot.Request{
		Name: "promise", Help: "Stems promised for a week, and how sure they are; without fields it lists what stands",
		Examples: []string{"/coop promise", `/coop promise week:"5 nov" stems:200 variety:Saltmarsh`, "/coop promise week:2027-11-01 stems:150 season:late colour:white form:spray", "/coop promise promise:2 stems:120", "/coop promise promise:2 drop:yes"},
		Right:    bot.Member,
		Fields: []bot.Field{
			{Name: "week", Help: "a day of the week it is promised for", Kind: bot.DayKind},
			{Name: "stems", Counts: []string{"stem"}, Help: "how many stems", Kind: bot.WholeKind, Min: new(1.0), Max: new(100000.0)},
			c.varietyField(false),
			{Name: "colour", Help: "instead of a variety: any of that colour", Kind: bot.TextKind},
			{Name: "season", Help: "instead of a variety: any of that season", Kind: bot.ChoiceKind, Choices: bot.Choices(string(variety.Early), string(variety.Mid), string(variety.Late), none)},
			{Name: "form", Help: "instead of a variety: any of that flower form", Kind: bot.TextKind},
			{Name: "buyer", Help: "whom it is promised to, for stewards alone", Kind: bot.TextKind},
			{Name: "promise", Help: "the number of one that stands, to change or drop it", Kind: bot.WholeKind, Min: new(1.0)},
			{Name: "drop", Help: "yes to give it up, no to take it up again", Kind: bot.YesKind},
		},
		Handle: c.coopPromise,
	}
}

func (c counter) coopPromise(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	if !told(in) {
		return c.listPromises(ctx, in, seat)
	}
	if in.Right < bot.Steward {
		in.Fail(fault.New(fault.Barred, "Only a steward promises for the co-op. /coop promise without fields lists what stands; /coop show names the stewards."))
	}
	p, was := register.Promise{}, register.Promise{}
	if n := in.Whole("promise"); n != 0 && in.Err() == nil {
		var err error
		if was, err = c.reg.PromiseNumbered(ctx, seat.Coop.ID, n); err != nil {
			return bot.Reply{}, err
		}
		p = was
	}
	readPromise(in, &p)
	if v := c.variety(ctx, in, seat.Coop.ID, register.Member{}, "variety"); v.ID != 0 {
		p.Variety, p.Name = v.ID, v.Name
	}
	drop := in.Yes("drop")
	switch {
	case in.Err() != nil:
	case was.ID == 0 && in.Has("drop"):
		in.Fail(fault.New(fault.Unclear, "Which promise? Give its number, as in promise:2; /coop promise lists them."))
	case was.ID == 0 && (!in.Has("week") || !in.Has("stems")):
		in.Fail(fault.New(fault.Unclear, "A promise needs a week and a number of stems, as in /coop promise week:\"5 nov\" stems:200."))
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	return c.keepPromise(ctx, in, seat, p, was, drop)
}

// keepPromise makes, changes or drops a promise; was is the one before, with ID 0 where there was none.
func (c counter) keepPromise(ctx context.Context, in *bot.In, seat register.Seat, p, was register.Promise, drop bool) (bot.Reply, error) {
	actor := register.Actor{Member: seat.Member.ID, At: in.At}
	asks := func(label string, pairs ...string) bot.Next {
		return bot.Next{Label: label, Request: bot.Typed("/coop promise", append([]string{"promise", fmt.Sprint(p.Number)}, pairs...)...)}
	}
	var kept register.Promise
	var err error
	switch {
	case was.ID == 0:
		kept, err = c.reg.Promise(ctx, actor, p)
	case drop:
		if kept, err = c.reg.DropPromise(ctx, actor, p.ID); err != nil {
			return bot.Reply{}, err
		}
		return bot.Reply{Title: "Dropped: " + promiseTitle(kept), Text: "It counts no more.", Private: true, Next: []bot.Next{asks("Take it up again", "drop", "no")}}, nil
	default:
		kept, err = c.reg.ChangePromise(ctx, actor, p)
	}
	if err != nil {
		return bot.Reply{}, err
	}
	p.Number = kept.Number
	stands, err := c.prospect(ctx, seat, kept.Week, kept.Week.Add(6), in.Today())
	reply := bot.Reply{Title: promiseTitle(kept), Private: true}
	var text prose
	for _, s := range stands.Promises {
		if s.ID == kept.ID {
			text.add("%s", chanceWords(s))
		}
	}
	if kept.Buyer != "" {
		text.add("Promised to %s, which only stewards see.", kept.Buyer)
	}
	reply.Text = text.String()
	if was.ID != 0 && was.Dropped.IsZero() {
		variety, colour, season, form, buyer := was.Name, was.Colour, string(was.Season), string(was.Form), was.Buyer
		if was.Variety == 0 {
			variety, colour, season, form = "", orNone(colour), orNone(season), orNone(form)
		}
		reply.Next = append(reply.Next, asks("As it was before", "week", was.Week.String(), "stems", fmt.Sprint(was.Stems), "variety", variety,
			"colour", colour, "season", season, "form", form, "buyer", orNone(buyer)))
	}
	reply.Next = append(reply.Next, asks("Drop it", "drop", "yes"), bot.Next{Label: "The co-op's supply", Request: "/coop supply"})
	return reply, err
}

// none takes back what was told.
const none = "none"

func orNone(text string) string {
	if text == "" {
		return none
	}
	return text
}

func promiseTitle(p register.Promise) string {
	return fmt.Sprintf("Promise %d: %s, the week of %s", p.Number, promiseWords(p), p.Week.Long())
}

// readPromise changes a promise by the fields. What is said of a variety's kind replaces a variety, and one named later
// replaces that.
func readPromise(in *bot.In, p *register.Promise) {
	put(in, "week", &p.Week, in.Day)
	put(in, "stems", &p.Stems, in.Whole)
	put(in, "buyer", &p.Buyer, unlessNone(in))
	if in.Has("variety") {
		p.Colour, p.Season, p.Form = "", variety.AnySeason, variety.AnyForm
	} else if in.Has("colour") || in.Has("season") || in.Has("form") {
		p.Variety, p.Name = 0, ""
	}
	put(in, "colour", &p.Colour, unlessNone(in))
	put(in, "season", &p.Season, func(field string) variety.Season { return variety.Season(in.Choice(field)) })
	put(in, "form", &p.Form, func(field string) variety.Form {
		if variety.Fold(in.Text(field)) == none {
			return variety.AnyForm
		}
		return bot.Take(in, field, variety.ReadForm)
	})
	if p.Season == none {
		p.Season = variety.AnySeason
	}
}

// listPromises lists what stands from this week on; buyers are shown to stewards alone.
func (c counter) listPromises(ctx context.Context, in *bot.In, seat register.Seat) (bot.Reply, error) {
	const ahead = 365
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	steward := in.Right >= bot.Steward
	all, err := c.reg.Promises(ctx, seat.Coop.ID, in.Today(), in.Today().Add(10*ahead))
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: "What " + coopName(in, seat) + " has promised", Private: steward}
	if len(all) == 0 {
		reply.Text = `Nothing is promised for this week or later. A steward promises, as in /coop promise week:"5 nov" stems:200.`
		return reply, nil
	}
	stands, err := c.prospect(ctx, seat, in.Today(), min(all[len(all)-1].Week, in.Today().Add(2*ahead)).Add(6), in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	met := map[int64]bot.Cell{}
	for _, s := range stands.Promises {
		met[s.ID] = bot.Text(chance(s.Met))
	}
	reply.Text = "Each is served out of the stems of its own week: a variety named before what is wider, and of two as wide the older. Met is the chance that all its stems are there."
	reply.Rows.Columns = bot.Columns("promise", "week", "stems", "what", "met")
	if steward {
		reply.Rows.Columns = append(reply.Rows.Columns, bot.Columns("buyer")...)
	}
	for _, p := range all {
		cells := []bot.Cell{bot.Whole(p.Number), bot.Day(p.Week), bot.Whole(p.Stems), bot.Text(promisedWhat(p)), met[p.ID]}
		if steward {
			cells = append(cells, text(p.Buyer))
		}
		reply.Rows.Add(cells...)
	}
	reply.Next = []bot.Next{{Label: "The co-op's supply", Request: "/coop supply"}}
	return reply, nil
}
