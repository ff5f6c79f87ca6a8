package requests

import (
	"context"
	"fmt"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/raising"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// coop holds what concerns the co-op as a whole.
func coop(c counter) bot.Family {
	return bot.Family{Name: "coop", Help: "The co-op: how it is set up, who is in it, and what it can promise", Requests: []bot.Request{{
		Name:     "setup",
		Help:     "Set the co-op up; without fields it shows what is set",
		Examples: []string{"/coop setup", "/coop setup zone:Europe/Dublin place:53.1,-6.7 units:metric", "/coop setup word:pinch stop-shift:0.5", "/coop setup steward:Maren"},
		Right:    bot.Steward,
		Fields:   c.setupFields(),
		Form:     []string{"name", "zone", "place", "last-frost", "first-frost"},
		Handle:   c.coopSetup,
	}, c.notices(), {
		Name:     "show",
		Help:     "Who is in the co-op, and how it is set up",
		Examples: []string{"/coop show"},
		Handle:   c.coopShow,
	}, c.promiseRequest(), c.supplyRequest()}}
}

// setting is a number that a co-op may change from its default. Its name is both the field and what the register keeps
// it under; 0 is the default.
type setting struct {
	name, what, unit string
	least, most      float64
	otherwise        string // the default and its source
}

// The numbers that /raise reckons with, all in per cent.
const (
	certaintySetting = "certainty"
	winterSetting    = "winter"
	strikeSetting    = "strike"
	growSetting      = "grow"
	marketSetting    = "market"
)

// The parts of a bloom's lateness that /coop supply reckons with, in per cent.
const (
	seasonShare  = "season-share"
	varietyShare = "variety-share"
)

func settings() []setting {
	rates := raising.Rates{}.OrDefault()
	return []setting{
		{register.StopShift, "days the bloom moves for a day of stopping later", "", 0.05, 1, "0.4, for earlies 1; from memory"},
		{certaintySetting, "how sure the numbers of /raise are", " %", 50, 99.9, "95 %"},
		{winterSetting, "boxed stools that live to be woken", " %", 1, 100, rates.Winter.Basis()},
		{strikeSetting, "cuttings that root", " %", 1, 100, rates.Strike.Basis()},
		{growSetting, "rooted cuttings fit to plant", " %", 1, 100, rates.Grow.Basis()},
		{marketSetting, "plants with stems that sell", " %", 1, 100, rates.Market.Basis()},
		{seasonShare, "share of a bloom's lateness common to all varieties in a year", " %", 1, 100, "40 %, our own reckoning; records are weighed against it"},
		{varietyShare, "share of it common to the plantings of one variety besides", " %", 1, 100, "40 %, our own reckoning; records are weighed against it"},
		{register.ApartSetting, "how long new stock stands apart", " days", 1, 365, "56 days, our own inference"},
	}
}

func (s setting) help() string {
	if s.unit == " %" {
		return s.what + ", in per cent; 0 is the default"
	}
	return s.what + "; 0 is the default"
}

// ratesOf gives the shares that a co-op set, each as a default to learn from; what was not set keeps its own.
func ratesOf(set map[string]float64) raising.Rates {
	rates := raising.Rates{}.OrDefault()
	for name, rate := range map[string]*raising.Rate{winterSetting: &rates.Winter, strikeSetting: &rates.Strike, growSetting: &rates.Grow, marketSetting: &rates.Market} {
		if share := set[name]; share > 0 {
			*rate = raising.Rate{Share: share / 100, Source: "set by the co-op"}
		}
	}
	return rates
}

func (c counter) setupFields() []bot.Field {
	fields := []bot.Field{
		{Name: "name", Help: "the co-op's name", Kind: bot.TextKind},
		{Name: "zone", Help: "the time zone, by its city: Europe/Dublin", Kind: bot.NamedKind, Complete: completeZones},
		{Name: "place", Help: "the position where members grow who gave none: 53.1,-6.7", Kind: bot.TextKind},
		{Name: "last-frost", Help: "the last frost of spring there, or none", Kind: bot.AnnualKind},
		{Name: "first-frost", Help: "the first frost of autumn there, or none", Kind: bot.AnnualKind},
		{Name: "country", Help: "the country, whose rules for plants apply", Kind: bot.TextKind},
		{Name: "units", Help: "the units of replies", Kind: bot.ChoiceKind, Choices: bot.Choices(string(register.Metric), string(register.US))},
		{Name: "days", Help: "how 5/11 is read", Kind: bot.ChoiceKind, Choices: bot.Choices(dayFirst, monthFirst)},
		{Name: "sharing", Help: "how swaps are shared: freely, or in balance within the credit", Kind: bot.ChoiceKind, Choices: bot.Choices(sharesFreely, sharesBalance)},
		{Name: "credit", Help: "in balance: how many units more than given a member may receive", Kind: bot.WholeKind, Min: new(0.0), Max: new(10000.0)},
		{Name: "word", Help: "what replies call taking out the tip", Kind: bot.ChoiceKind, Choices: bot.Choices(string(register.SayStop), string(register.SayPinch))},
	}
	for _, s := range settings() {
		fields = append(fields, bot.Field{Name: s.name, Help: s.help(), Kind: bot.NumberKind, Max: &s.most})
	}
	return append(fields,
		channelField(), timesField(),
		bot.Field{Name: "steward", Help: "a member who becomes a steward", Kind: bot.MemberKind, Complete: c.completeMembers},
		bot.Field{Name: "stand-down", Help: "a steward who is one no longer", Kind: bot.MemberKind, Complete: c.completeMembers})
}

const (
	sharesFreely  = "freely"
	sharesBalance = "in-balance"
)

const (
	dayFirst   = "day-first"
	monthFirst = "month-first"
)

// completeZones offers time zones by their name or their city's.
func completeZones(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	return bot.Choices(place.Zones(typed, bot.Offered)...), nil
}

func (c counter) coopSetup(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if !told(in) {
		seat := c.seat(ctx, in)
		facts, err := c.coopFacts(ctx, in, seat)
		return bot.Reply{Title: "How " + coopName(in, seat) + " is set up", Text: stillToTell(seat.Coop.Place), Rows: factTable(facts), Private: true}, err
	}
	if in.Governed && (in.Has("steward") || in.Has("stand-down")) {
		return bot.Reply{}, fault.New(fault.Barred, "Here nobody is named a steward by a request: whoever may manage the server is one, and so is whoever has the stewards' role. Give or take the role in the server's own settings.")
	}
	set := readSettings(in)
	readSetup(in, register.Coop{}) // all faults before anything is stored
	readWhere(in, register.NoticeSetting{})
	seat := c.enter(ctx, in)
	up, down := c.member(ctx, in, seat, "steward"), c.member(ctx, in, seat, "stand-down")
	before, err := c.coopFacts(ctx, in, seat)
	if err = first(in.Err(), err); err != nil {
		return bot.Reply{}, err
	}
	effect, err := c.watch(ctx, seat, 0)
	if err != nil {
		return bot.Reply{}, err
	}
	actor := register.Actor{Member: seat.Member.ID, At: in.At}
	if err := c.nameStewards(ctx, actor, up, down); err != nil {
		return bot.Reply{}, err
	}
	notices, err := c.setWhere(ctx, in, actor, seat)
	if err != nil {
		return bot.Reply{}, err
	}
	var moved []register.Move
	if changed := readSetup(in, seat.Coop); changed != seat.Coop {
		if moved, err = c.reg.Setup(ctx, actor, changed); err != nil {
			return bot.Reply{}, err
		}
	}
	for _, s := range settings() {
		if value, ok := set[s.name]; ok {
			more, err := c.reg.Set(ctx, actor, s.name, value)
			if err != nil {
				return bot.Reply{}, err
			}
			moved = append(moved, more...)
		}
	}
	return c.setUp(ctx, in, before, paragraphs(stewardsNamed(up, down), notices), effect, moved)
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func (c counter) nameStewards(ctx context.Context, actor register.Actor, up, down register.Member) error {
	if up.ID != 0 {
		if err := c.reg.NameSteward(ctx, actor, up.ID, true); err != nil {
			return err
		}
	}
	if down.ID != 0 {
		return c.reg.NameSteward(ctx, actor, down.ID, false)
	}
	return nil
}

func stewardsNamed(up, down register.Member) string {
	var told []string
	if up.ID != 0 {
		told = append(told, up.Name+" is a steward.")
	}
	if down.ID != 0 {
		told = append(told, down.Name+" is no longer a steward.")
	}
	return strings.Join(told, " ")
}

// readSetup gives the co-op as the fields change it.
func readSetup(in *bot.In, coop register.Coop) register.Coop {
	put(in, "name", &coop.Name, func(field string) string { return bot.Take(in, field, variety.CleanName) })
	readPlace(in, &coop.Place)
	put(in, "country", &coop.Country, func(field string) string { return bot.Take(in, field, variety.CleanName) })
	put(in, "units", &coop.Units, func(field string) register.Units { return register.Units(in.Choice(field)) })
	put(in, "days", &coop.MonthFirst, func(field string) bool { return in.Choice(field) == monthFirst })
	put(in, "sharing", &coop.Sharing, func(field string) register.Sharing {
		if in.Choice(field) == sharesBalance {
			return register.InBalance
		}
		return register.Freely
	})
	put(in, "credit", &coop.Credit, in.Whole)
	put(in, "word", &coop.StopWord, func(field string) register.StopWord { return register.StopWord(in.Choice(field)) })
	return coop
}

func readSettings(in *bot.In) map[string]float64 {
	set := map[string]float64{}
	for _, s := range settings() {
		if !in.Has(s.name) {
			continue
		}
		value := in.Number(s.name)
		if value != 0 && value < s.least {
			in.Fail(fault.New(fault.Unclear, "%s goes from %g to %g, and 0 returns to the default (%s). Change it and send it again.", s.name, s.least, s.most, s.otherwise))
		}
		set[s.name] = value
	}
	if set[seasonShare]+set[varietyShare] > 100 {
		in.Fail(fault.New(fault.Unclear, "The two shares of a lateness come to %g %%; together they may be 100 %% at most. Change one and send it again.", set[seasonShare]+set[varietyShare]))
	}
	return set
}

// setUp answers what a setup changed.
func (c counter) setUp(ctx context.Context, in *bot.In, before []fact, stewards string, effect effect, moved []register.Move) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	after, err := c.coopFacts(ctx, in, seat)
	if err = first(in.Err(), err); err != nil {
		return bot.Reply{}, err
	}
	led, rows, err := effect.tell(ctx, moved)
	done := changes(before, after)
	if len(done) == 0 && stewards == "" {
		done = []string{"It was set so already."}
	}
	at, still := seat.Coop.Place, ""
	if in.Has("zone") || in.Has("place") || at.Zone == "" {
		still = stillToTell(at)
	}
	ask := doubt("/coop setup", at)
	return bot.Reply{
		Title: seat.Coop.Name,
		Text:  paragraphs(strings.Join(done, "\n"), stewards, ask.text, still, led),
		Rows:  rows,
		Next:  append(ask.next, bot.Next{Label: "Show all that is set", Request: "/coop setup"}),
	}, err
}

// stillToTell asks for what the co-op cannot do without.
func stillToTell(at place.Place) string {
	switch {
	case at.Zone == "" && !at.Exact:
		return "Where is the co-op? Tell its time zone and position, as in /coop setup zone:Europe/Dublin place:53.1,-6.7. Without them neither days nor seasons are sure."
	case at.Zone == "":
		return "The time zone is still to be told, as in /coop setup zone:Europe/Dublin. Until then days begin by the clock of the machine that asks."
	case !at.Exact:
		return "The position is still to be told, as in /coop setup place:53.1,-6.7. " + standsIn(at)
	}
	return ""
}

func coopName(in *bot.In, seat register.Seat) string {
	if seat.Coop.Name != "" {
		return seat.Coop.Name
	}
	return in.Coop.Name
}

func (c counter) coopFacts(ctx context.Context, in *bot.In, seat register.Seat) ([]fact, error) {
	co := seat.Coop
	set, err := c.reg.Settings(ctx, co.ID)
	if co.ID == 0 { // nothing is stored yet: the defaults hold
		co.Units, co.StopWord = register.Metric, register.SayStop
	}
	days := dayFirst
	if co.MonthFirst {
		days = monthFirst
	}
	facts := append([]fact{{"name", coopName(in, seat), ""}}, placeFacts(co.Place)...)
	facts = append(facts,
		fact{"country", co.Country, ""},
		fact{"units", string(co.Units), "for members who chose none"},
		fact{"days", days, "5/11 is " + elevenFive(co.MonthFirst)},
		sharingFact(co),
		fact{"credit", fmt.Sprint(co.Credit), "units a member may receive beyond what they give, in balance"},
		fact{"word", string(co.StopWord), "for taking out the tip"})
	for _, s := range settings() {
		f := fact{s.name, s.otherwise, s.what + "; the default"}
		if value := set[s.name]; value != 0 {
			f = fact{s.name, positive(value, s.unit), s.what}
		}
		facts = append(facts, f)
	}
	return facts, err
}

func sharingFact(co register.Coop) fact {
	if co.Sharing == register.InBalance {
		return fact{"sharing", sharesBalance, "swaps: received − given stays within the credit"}
	}
	return fact{"sharing", sharesFreely, "swaps: nobody has to give as much as they receive"}
}

func elevenFive(monthFirst bool) string {
	if monthFirst {
		return "11 May"
	}
	return "5 November"
}

func (c counter) coopShow(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if seat.Coop.ID == 0 {
		return bot.Reply{}, fault.New(fault.Missing, "%s has not begun yet. Who sets it up with /coop setup, or enters a first place or variety, is its steward.", in.Coop.Name)
	}
	members, err := c.reg.Members(ctx, seat.Coop.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	rows := bot.Table{Columns: bot.Columns("member", "steward", "zone", "varieties", "since")}
	keepers, err := c.reg.Keepers(ctx, seat.Coop.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	kept := map[int64]int{}
	for _, k := range keepers {
		kept[k.Member]++
	}
	for _, m := range members {
		zone := register.Seat{Coop: seat.Coop, Member: m}.Place().Zone
		rows.Add(bot.Text(m.Name), bot.Yes(m.Steward), text(zone), bot.Whole(kept[m.ID]), bot.Day(calendar.DayAt(m.Joined.In(in.At.Location()))))
	}
	varieties, err := c.reg.Varieties(ctx, seat.Coop.ID)
	return bot.Reply{
		Title: seat.Coop.Name,
		Text:  coopText(seat, len(members), len(varieties)),
		Rows:  rows,
		Next:  []bot.Next{{Label: "The co-op's varieties", Request: "/variety list"}},
	}, err
}

func coopText(seat register.Seat, members, varieties int) string {
	co, where := seat.Coop, "at a place not told yet"
	switch at := seat.Coop.Place; {
	case at.Exact && at.Zone != "":
		where = fmt.Sprintf("at %s (%s)", at.Point, at.Zone)
	case at.Exact:
		where = "at " + at.Point.String()
	case at.Zone != "":
		where = "in " + at.Zone
	}
	return paragraphs(fmt.Sprintf("%s with %s, %s.", plural(members, "member", "members"), plural(varieties, "variety", "varieties"), where),
		fmt.Sprintf("Units are %s, 5/11 is %s, and taking out the tip is to %s.", unitsName(co.Units), elevenFive(co.MonthFirst), co.StopWord),
		stillToTell(co.Place))
}

func unitsName(u register.Units) string {
	if u == register.US {
		return "US"
	}
	return "metric"
}

// text gives a cell of words, none where there are none.
func text(words string) bot.Cell {
	if words == "" {
		return bot.Cell{}
	}
	return bot.Text(words)
}
