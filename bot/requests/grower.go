package requests

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// grower holds what concerns one member.
func grower(c counter) bot.Family {
	mostKept := 1000.0
	return bot.Family{Name: "grower", Help: "You as a member: where you grow, and all that is kept of you", Requests: []bot.Request{{
		Name:     "place",
		Help:     "Where you grow and what you have there; without fields it shows what is known",
		Examples: []string{"/grower place place:53.1,-6.7 zone:Europe/Dublin", `/grower place last-frost:"10 may" first-frost:"12 oct" cover:yes`, "/grower place keep:5"},
		Fields: []bot.Field{
			{Name: "place", Help: "your position, in degrees: 53.1,-6.7", Kind: bot.TextKind},
			{Name: "zone", Help: "your time zone, by its city: Europe/Dublin", Kind: bot.NamedKind, Complete: completeZones},
			{Name: "last-frost", Help: "your last frost of spring, or none", Kind: bot.AnnualKind},
			{Name: "first-frost", Help: "your first frost of autumn, or none", Kind: bot.AnnualKind},
			{Name: "cover", Help: "a frost-free roof to bring lates under", Kind: bot.YesKind},
			{Name: "bottom-heat", Help: "a heated propagator or bench", Kind: bot.YesKind},
			{Name: "winter-heat", Help: "about 16 °C in winter to wake stools", Kind: bot.YesKind},
			{Name: "black-out", Help: "covers that keep the light off plants", Kind: bot.YesKind},
			{Name: "lights", Help: "lamps to light plants at night", Kind: bot.YesKind},
			{Name: "country", Help: "your country, whose rules for plants apply; none is the co-op's", Kind: bot.TextKind},
			{Name: "keep", Counts: []string{"stool"}, Help: "stools kept back of each variety", Kind: bot.WholeKind, Min: new(float64), Max: &mostKept},
			{Name: "units", Help: "the units of your replies", Kind: bot.ChoiceKind, Choices: bot.Choices(string(register.Metric), string(register.US), coopUnits)},
			c.forField(),
		},
		Handle: c.growerPlace,
	}, c.reminders(), {
		Name:     "show",
		Help:     "What is known of you, or what another member keeps",
		Examples: []string{"/grower show", "/grower show member:Piet"},
		Fields: []bot.Field{
			{Name: "member", Help: "another member of the co-op", Kind: bot.MemberKind, Bare: true, Complete: c.completeMembers},
		},
		Handle: c.growerShow,
	}, {
		Name:     "export",
		Help:     "All that is kept of you, as a JSON file",
		Examples: []string{"/grower export"},
		Right:    bot.Member,
		Fields:   []bot.Field{c.forField()},
		Handle:   c.growerExport,
	}, {
		Name:     "leave",
		Help:     "Leave the co-op, and have all that is yours removed",
		Examples: []string{"/grower leave"},
		Right:    bot.Member,
		Fields:   []bot.Field{c.forField()},
		Confirm: "Leaving removes place, batches, targets, jobs and all that was recorded, for good. Only where others' plants came from " +
			"is kept, without a name; whoever has plants of yours on the way should say /swap received first, else even that is lost. " +
			"/grower export gives a copy first. Is it really meant?",
		Handle: c.growerLeave,
	}}}
}

const coopUnits = "co-op"

func (c counter) growerPlace(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if !told(in, "for") {
		seat := c.seat(ctx, in)
		_, own := c.actor(ctx, in, seat)
		return c.ownFacts(in, register.Seat{Coop: seat.Coop, Member: own})
	}
	readMember(in, register.Member{}) // all faults before anything is stored
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	changed := readMember(in, own)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	effect, err := c.watch(ctx, seat, 0, own)
	if err != nil {
		return bot.Reply{}, err
	}
	moved, err := c.reg.SetMember(ctx, actor, changed.Units, changed.KeepStools, changed.Place)
	if err == nil && changed.Country != own.Country {
		err = c.reg.SetCountry(ctx, actor, changed.Country)
	}
	if err != nil {
		return bot.Reply{}, err
	}
	was, now := register.Seat{Coop: seat.Coop, Member: own}, register.Seat{Coop: seat.Coop, Member: changed}
	if !own.Place.Known() && changed.Place.Known() {
		was.Coop.Place = place.Place{} // that of the co-op was never theirs
	}
	done := changes(growerFacts(was), growerFacts(now))
	if len(done) == 0 {
		done = []string{"That was known already."}
	}
	led, rows, err := effect.tell(ctx, moved)
	ask := doubt("/grower place", now.Place())
	days := ""
	if in.Has("place") || in.Has("zone") {
		days = daysThere(now.Place(), in.Today())
	}
	return bot.Reply{
		Title:   whose(in, own) + " place",
		Text:    paragraphs(strings.Join(done, "\n"), ask.text, days, notKnown(now), led),
		Rows:    rows,
		Private: true,
		Next:    append(ask.next, bot.Next{Label: "Enter your plants", Request: "/stock add"}),
	}, err
}

// readMember gives the member as the fields change them.
func readMember(in *bot.In, m register.Member) register.Member {
	readPlace(in, &m.Place)
	for field, has := range map[string]*bool{"cover": &m.Place.Cover, "bottom-heat": &m.Place.BottomHeat, "winter-heat": &m.Place.WinterHeat,
		"black-out": &m.Place.BlackOut, "lights": &m.Place.Lights} {
		put(in, field, has, in.Yes)
	}
	put(in, "keep", &m.KeepStools, in.Whole)
	put(in, "country", &m.Country, unlessNone(in))
	put(in, "units", &m.Units, func(field string) register.Units {
		if units := in.Choice(field); units != coopUnits {
			return register.Units(units)
		}
		return register.CoopUnits
	})
	return m
}

// whose names a member in front of what is theirs: "Your", or "Piet's".
func whose(in *bot.In, own register.Member) string {
	if own.Key == in.Who.Key || own.ID == 0 {
		return "Your"
	}
	return own.Name + "'s"
}

// notKnown asks for what the dates of a member still lack.
func notKnown(seat register.Seat) string {
	at := seat.Place()
	var told []string
	switch {
	case !at.Known():
		told = append(told, "Not known yet: where it is. Tell the position and the time zone, as in /grower place place:53.1,-6.7 zone:Europe/Dublin.")
	case !at.Exact:
		told = append(told, "Not known yet: the position. "+standsIn(at))
	case at.Zone == "":
		told = append(told, "Not known yet: the time zone. Tell it as in /grower place zone:Europe/Dublin.")
	}
	var frosts []string
	if at.LastFrost.IsZero() {
		frosts = append(frosts, "the last frost of spring (last-frost:)")
	}
	if at.FirstFrost.IsZero() {
		frosts = append(frosts, "the first frost of autumn (first-frost:)")
	}
	if len(frosts) > 0 {
		told = append(told, "Not known yet: "+strings.Join(frosts, " and ")+". Until then planting out and lifting go by the calendar of a handbook.")
	}
	return strings.Join(told, "\n")
}

func growerFacts(seat register.Seat) []fact {
	m, at := seat.Member, seat.Place()
	facts := placeFacts(at)
	if !m.Place.Known() && at.Known() {
		for i := range facts {
			facts[i].basis = "the co-op's, until you tell your own"
		}
	}
	for _, has := range []struct {
		field, what string
		is          bool
	}{
		{"cover", "a frost-free roof", at.Cover}, {"bottom-heat", "a heated propagator or bench", at.BottomHeat},
		{"winter-heat", "about 16 °C in winter", at.WinterHeat}, {"black-out", "covers against the light", at.BlackOut},
		{"lights", "lamps at night", at.Lights},
	} {
		facts = append(facts, fact{has.field, bot.Yes(has.is).String(), has.what})
	}
	units := fact{"units", string(m.Units), "as given"}
	if m.Units == register.CoopUnits {
		units = fact{"units", string(seat.Units()), "the co-op's"}
	}
	country := fact{"country", seat.Country(), "whose rules for plants apply; the co-op's"}
	if m.Country != "" {
		country.basis = "whose rules for plants apply"
	}
	return append(facts, country, fact{"keep", fmt.Sprint(m.KeepStools), "stools of each variety, never counted as spare"}, units)
}

func (c counter) growerShow(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	other := c.member(ctx, in, seat, "member")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if other.ID == 0 || other.ID == seat.Member.ID {
		return c.ownShow(ctx, in, seat)
	}
	kept, err := c.reg.Batches(ctx, other.ID, 0)
	rows := bot.Table{Columns: bot.Columns("variety", "plants")}
	for _, h := range holdings(kept) {
		rows.Add(bot.Text(h.name), bot.Text(h.plants()))
	}
	keeps := other.Name + " has entered no plants yet."
	if len(kept) > 0 {
		keeps = other.Name + " keeps " + plural(len(rows.Rows), "variety", "varieties") + ":"
	}
	return bot.Reply{Title: other.Name, Text: paragraphs(public(in, register.Seat{Coop: seat.Coop, Member: other}), keeps), Rows: rows}, err
}

// public is what other members are told of one: the time zone and never the position.
func public(in *bot.In, seat register.Seat) string {
	text := "A member since " + calendar.DayAt(seat.Member.Joined.In(in.At.Location())).Long()
	if seat.Member.Steward {
		text = "A steward, and a member since " + calendar.DayAt(seat.Member.Joined.In(in.At.Location())).Long()
	}
	if zone := seat.Place().Zone; zone != "" {
		text += ", in " + zone
	}
	return text + "."
}

func (c counter) ownShow(ctx context.Context, in *bot.In, seat register.Seat) (bot.Reply, error) {
	reply, err := c.ownFacts(in, seat)
	if err != nil || seat.Zero() {
		return reply, err
	}
	kept, err := c.reg.Batches(ctx, seat.Member.ID, 0)
	if err != nil {
		return bot.Reply{}, err
	}
	plans, err := c.reg.Plans(ctx, seat.Member.ID, 0)
	targets := len(slices.DeleteFunc(plans, register.Plan.Keeps))
	reply.Title = seat.Member.Name
	reply.Text = paragraphs(fmt.Sprintf("%s You keep %s in %s, and %s.", public(in, seat), plural(len(holdings(kept)), "variety", "varieties"),
		plural(len(kept), "batch", "batches"), plural(targets, "target runs", "targets run")), reply.Text)
	reply.Next = append(reply.Next, bot.Next{Label: "Your plants", Request: "/stock list"}, bot.Next{Label: "A copy of all that is yours", Request: "/grower export"})
	return reply, err
}

func (c counter) ownFacts(in *bot.In, seat register.Seat) (bot.Reply, error) {
	if seat.Zero() {
		seat.Member.KeepStools = 3 // as every member begins
		seat.Coop.Units = cmp.Or(seat.Coop.Units, register.Metric)
	}
	return bot.Reply{
		Title:   whose(in, seat.Member) + " place",
		Text:    paragraphs(daysThere(seat.Place(), in.Today()), notKnown(seat)),
		Rows:    factTable(growerFacts(seat)),
		Private: true,
	}, in.Err()
}

func (c counter) growerExport(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	_, own := c.actor(ctx, in, seat)
	if err := first(in.Err(), stored(own)); err != nil {
		return bot.Reply{}, err
	}
	all, err := c.reg.Export(ctx, own.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	var photos []bot.File
	private := ""
	if own.ID == seat.Member.ID {
		if photos, err = c.photoFiles(ctx, own); err != nil {
			return bot.Reply{}, err
		}
	} else { // a steward helps, and does not read what is private
		all.Notes = slices.DeleteFunc(all.Notes, func(n register.Note) bool { return !n.Shared })
		private = " Private notes and the photos are for " + own.Name + " alone."
	}
	data, err := stableJSON(all)
	if err != nil {
		return bot.Reply{}, err
	}
	var lists []bot.Next
	if own.ID == seat.Member.ID {
		lists = []bot.Next{{Label: "Your plants for a spreadsheet", Request: "/stock list file:yes"}, {Label: "The varieties", Request: "/variety list file:yes"},
			{Label: "Your targets and their dates", Request: "/target list file:yes"}, {Label: "Your diary and blooms", Request: "/note list file:yes"}}
	}
	return bot.Reply{
		Title: "All that is kept of " + own.Name,
		Text: fmt.Sprintf("%s, %s, %s, %s and %s, with place and settings.", plural(len(all.Batches), "batch", "batches"), plural(len(all.Plans), "plan", "plans"),
			plural(len(all.Jobs), "job", "jobs"), plural(len(all.Events), "record", "records"), plural(len(all.Notes), "note", "notes")) + private,
		Files:   append([]bot.File{{Name: "shortday-" + fileName(own.Name) + ".json", Type: "application/json", Alt: "all that the register holds of " + own.Name, Data: data}}, photos...),
		Private: true, Next: lists,
	}, nil
}

// stored refuses an asker of whom nothing is kept.
func stored(own register.Member) error {
	if own.ID != 0 {
		return nil
	}
	return fault.New(fault.Missing, "Nothing is kept of you yet. Your first /grower place or /stock add makes you a member.")
}

// fileName makes a name fit for a file: letters and digits, parted by hyphens.
func fileName(name string) string {
	words := strings.FieldsFunc(variety.Fold(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if len(words) == 0 {
		return "member"
	}
	return strings.Join(words, "-")
}

func (c counter) growerLeave(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := first(in.Err(), stored(own)); err != nil {
		return bot.Reply{}, err
	}
	before, err := c.reg.Members(ctx, seat.Coop.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	if err := c.reg.Leave(ctx, actor); err != nil {
		return bot.Reply{}, err
	}
	after, err := c.reg.Members(ctx, seat.Coop.ID)
	text := fmt.Sprintf("%s has left, and what was recorded is removed. Where others' plants came from is kept without a name.", own.Name)
	for _, m := range after {
		was := slices.IndexFunc(before, func(b register.Member) bool { return b.ID == m.ID })
		if m.Steward && was >= 0 && !before[was].Steward {
			text += " " + m.Name + " is steward now."
		}
	}
	return bot.Reply{Title: seat.Coop.Name, Text: text}, err
}

// holding is what a member, or the co-op, has of one thing: plants of a variety, or a member's of one variety.
type holding struct {
	name   string
	stages []crop.Stage
	counts map[crop.Stage]int
}

// holdings gathers batches by variety, in their order.
func holdings(batches []register.Batch) []holding {
	return gather(batches, func(b register.Batch) string { return b.Name })
}

func gather(batches []register.Batch, by func(register.Batch) string) []holding {
	var all []holding
	for _, b := range batches {
		i := slices.IndexFunc(all, func(h holding) bool { return h.name == by(b) })
		if i < 0 {
			i = len(all)
			all = append(all, holding{name: by(b), counts: map[crop.Stage]int{}})
		}
		if !slices.Contains(all[i].stages, b.Stage) {
			all[i].stages = append(all[i].stages, b.Stage)
		}
		all[i].counts[b.Stage] += b.Count
	}
	return all
}

// plants tells how many there are at each stage: "12 boxed, 30 potted".
func (h holding) plants() string {
	told := make([]string, len(h.stages))
	for i, stage := range h.stages {
		told[i] = count(h.counts[stage], string(stage))
	}
	return strings.Join(told, ", ")
}
