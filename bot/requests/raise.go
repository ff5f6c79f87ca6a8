package requests

import (
	"context"
	"fmt"
	"math"
	"slices"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/knowledge/raising"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// raise is the family of numbers: how much has to be raised for so many stems, and what plants can give.
func raise(c counter) bot.Family {
	stools := func(help string, least float64) bot.Field {
		return bot.Field{Name: "stools", Counts: []string{"stool"}, Help: help, Kind: bot.WholeKind, Min: &least, Max: new(float64(raising.MostStools))}
	}
	return bot.Family{Name: "raise", Help: "How many plants, cuttings and stools it takes, and what yours can give", Requests: []bot.Request{
		{Name: "stems", Help: "What has to be raised for so many stems", Handle: c.raiseStems,
			Examples: []string{"/raise stems stems:200 variety:Saltmarsh", `/raise stems stems:200 class:"late spray" certainty:90 stools:12`},
			Fields: slices.Concat(
				[]bot.Field{{Name: "stems", Counts: []string{"stem"}, Help: "how many stems are wanted to sell", Kind: bot.WholeKind, Required: true, Min: new(1.0), Max: new(float64(raising.MostStems))}},
				c.raisingFields(), []bot.Field{stools("how many stools you have for it; those in the register if left out", 0),
					{Name: "target", Help: "your target that they are for, whose stools are then not counted as needed elsewhere", Kind: bot.NamedKind, Complete: c.completeTargets}}, settingFields())},
		{Name: "cuttings", Help: "What stools or cuttings can be counted on to give", Handle: c.raiseCuttings,
			Examples: []string{"/raise cuttings stools:12 variety:Saltmarsh", "/raise cuttings cuttings:100", "/raise cuttings variety:Saltmarsh"},
			Fields: slices.Concat(
				[]bot.Field{stools("how many boxed stools there are; your own that can be spared if left out", 1),
					{Name: "cuttings", Counts: []string{"cutting"}, Help: "how many cuttings are struck, instead of stools", Kind: bot.WholeKind, Min: new(1.0), Max: new(float64(raising.MostCuttings))}},
				c.raisingFields(), settingFields())},
	}}
}

func (c counter) raisingFields() []bot.Field {
	percent := func(name, help string, least, most float64) bot.Field {
		return bot.Field{Name: name, Help: help, Kind: bot.NumberKind, Min: new(least), Max: new(most)}
	}
	return []bot.Field{
		c.varietyField(false),
		classField(),
		percent("certainty", "per cent of certainty that it is enough; 95 if neither you nor the co-op says otherwise", 50, 99.9),
		{Name: "kept", Counts: []string{"stem"}, Help: "stems kept on a plant; by the form if left out", Kind: bot.WholeKind, Min: new(1.0), Max: new(100.0)},
		percent("winter", "per cent of boxed stools that live", 1, 100),
		{Name: "shoots", Counts: []string{"shoot", "cutting"}, Help: "usable shoots a living stool gives", Kind: bot.NumberKind, Min: new(0.1), Max: new(200.0)},
		percent("strike", "per cent of cuttings that root", 1, 100),
		percent("grow", "per cent of rooted cuttings that are fit to plant", 1, 100),
		percent("market", "per cent of plants with stems that sell", 1, 100),
	}
}

// undertaking is what a /raise request is about: a need with what its rates rest on.
type undertaking struct {
	raising.Need
	seat    register.Seat
	target  register.Plan    // whose stems they are; zero where none was named
	variety register.Variety // ID 0 where none of the register was named
	grown   variety.Variety  // as named, or of the class
	keeping string           // what the stems kept on a plant rest on
	setting raising.Setting
}

func (c counter) undertaking(ctx context.Context, in *bot.In) undertaking {
	u := undertaking{seat: c.seat(ctx, in)}
	u.variety = c.variety(ctx, in, u.seat.Coop.ID, u.seat.Member, "variety")
	u.grown = u.variety.Variety
	if class := bot.Take(in, "class", variety.ReadClass); class.Name != "" {
		if in.Has("variety") {
			in.Fail(fault.New(fault.Unclear, "Name a variety or a class; leave one of them out."))
		}
		u.grown = class.Variety()
		u.grown.Name = class.Name
	}
	u.StemsPerPlant, u.keeping = u.grown.StemsKept()
	if in.Has("kept") {
		u.StemsPerPlant, u.keeping = in.Whole("kept"), "as you say"
	}
	u.setting = raising.Setting{Spacing: in.Length("spacing"), Cells: in.Whole("cells"), Bed: in.Yes("bed")}
	if season, _ := u.grown.SeasonOrGuess(); !in.Has("bed") {
		u.setting.Bed = season == variety.Early || season == variety.Mid
	}
	set, err := c.reg.Settings(ctx, u.seat.Coop.ID)
	if err != nil {
		in.Fail(err)
	}
	u.Certainty = set[certaintySetting] / 100
	if in.Has("certainty") {
		u.Certainty = in.Number("certainty") / 100
	}
	u.Rates = c.rates(ctx, in, u, ratesOf(set))
	return u
}

func raisingColumns() []bot.Column {
	return bot.Columns("stems", "plants", "cuttings", "stools", "certainty")
}

func raisingRow(n raising.Numbers) []bot.Cell {
	places := 0
	if percent := 100 * n.Certainty; math.Abs(percent-math.Round(percent)) > 1e-6 {
		places = 1
	}
	return []bot.Cell{bot.Whole(n.Stems), bot.Whole(n.Plants), bot.Whole(n.Cuttings), bot.Whole(n.Stools), bot.Number(100*n.Certainty, places)}
}

func (c counter) raiseStems(ctx context.Context, in *bot.In) (bot.Reply, error) {
	u := c.undertaking(ctx, in)
	u.Stems = in.Whole("stems")
	if u.target = c.target(ctx, in, u.seat.Member, "target"); u.target.ID != 0 && u.target.Variety != u.variety.ID {
		in.Fail(fault.New(fault.Unclear, "That target is for %s. Name it as the variety: too, or leave the target out.", u.target.Name))
	}
	c.supposed(ctx, in, &u)
	stools := in.Whole("stools")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	n, err := raising.Raise(u.Need)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: u.titled(plural(n.Stems, "stem", "stems")), Rows: bot.Table{Columns: raisingColumns()}}
	reply.Rows.Add(raisingRow(n)...)
	supplies, err := u.supplies(in, n)
	if err != nil {
		return bot.Reply{}, err
	}
	has, err := c.inHand(ctx, in, u, stools)
	if err != nil {
		return bot.Reply{}, err
	}
	reply.Text = paragraphs(
		fmt.Sprintf("Wake %s and strike %s: %s to pot, %s to grow on, of which %s bearing %s each are counted on. With %s certainty that is enough, over the whole chain.",
			plural(n.Stools, "stool", "stools"), plural(n.Cuttings, "cutting", "cuttings"), plural(n.Rooted, "rooted cutting", "rooted cuttings"),
			plural(n.Plants, "plant", "plants"), plural(n.Good, "good plant", "good plants"), plural(u.StemsPerPlant, "stem", "stems"), percentage(n.Certainty)),
		has.against(n), u.restsOn(), supplies)
	if has.known && has.spare < n.Stools && has.spare > 0 {
		reply.Next = append(reply.Next, bot.Next{Label: "What yours can give", Request: bot.Typed("/raise cuttings", "stools", fmt.Sprint(has.spare), "variety", u.variety.Name, "class", in.Text("class"))})
	}
	if u.variety.ID != 0 {
		reply.Next = append(reply.Next, bot.Next{Label: "Aim at a bloom", Request: bot.Typed("/target set", "variety", u.variety.Name, "stems", fmt.Sprint(n.Stems))})
	}
	if u.variety.ID != 0 && has.short(n) > 0 {
		reply.Next = append(reply.Next, wantNext(u.variety.Name, has.short(n)))
	}
	return reply, nil
}

// supposed takes stems for those of a running target that wants just as many, where no target was named.
func (c counter) supposed(ctx context.Context, in *bot.In, u *undertaking) {
	if in.Err() != nil || in.Has("target") || u.variety.ID == 0 || u.seat.Zero() {
		return
	}
	plans, err := c.reg.Plans(ctx, u.seat.Member.ID, u.variety.ID)
	if err != nil {
		in.Fail(err)
	}
	for _, p := range plans {
		if p.Stems == u.Stems {
			u.target = p
			return
		}
	}
}

func (c counter) raiseCuttings(ctx context.Context, in *bot.In) (bot.Reply, error) {
	u := c.undertaking(ctx, in)
	stools, cuttings := in.Whole("stools"), in.Whole("cuttings")
	if in.Has("stools") && in.Has("cuttings") {
		in.Fail(fault.New(fault.Unclear, "Give stools: or cuttings:, and leave the other out."))
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if cuttings > 0 {
		return u.fromCuttings(in, cuttings)
	}
	has := hand{spare: stools, told: true, known: in.Has("stools")}
	if !has.known {
		var err error
		if has, err = c.inHand(ctx, in, u, 0); err != nil {
			return bot.Reply{}, err
		}
	}
	if !has.known {
		return bot.Reply{}, fault.New(fault.Unclear, "From what? Add stools: or cuttings:, or a variety: of which you have stools.")
	}
	if has.spare == 0 {
		return bot.Reply{Title: u.titled("What your stools can give"), Text: has.says(u.variety.Name) + " None are left to raise from: ask the co-op for some, or tell how many there are with stools:."}, nil
	}
	n, err := raising.Give(has.spare, u.Need)
	if err != nil {
		return bot.Reply{}, err
	}
	from := plural(n.Stools, "stool", "stools")
	return u.given(in, n, from, fmt.Sprintf("From %s, %s can be counted on", from, plural(n.Cuttings, "cutting", "cuttings")), has.says(u.variety.Name))
}

// fromCuttings answers for cuttings; the stools are those that it takes to get them.
func (u undertaking) fromCuttings(in *bot.In, cuttings int) (bot.Reply, error) {
	n, err := raising.GiveCuttings(cuttings, u.Need)
	if err != nil {
		return bot.Reply{}, err
	}
	if n.Stools, err = raising.StoolsFor(cuttings, u.Need); err != nil {
		return bot.Reply{}, err
	}
	n.Cuttings = cuttings
	from := plural(cuttings, "cutting", "cuttings")
	return u.given(in, n, from, upper(from)+" are struck", fmt.Sprintf("To take so many cuttings, wake %s.", plural(n.Stools, "stool", "stools")))
}

// given answers what can be counted on.
func (u undertaking) given(in *bot.In, n raising.Numbers, from, begin, also string) (bot.Reply, error) {
	reply := bot.Reply{Title: u.titled("What " + from + " can give"), Rows: bot.Table{Columns: raisingColumns()}}
	reply.Rows.Add(raisingRow(n)...)
	supplies, err := u.supplies(in, n)
	if err != nil {
		return bot.Reply{}, err
	}
	reply.Text = paragraphs(
		fmt.Sprintf("%s: %d root, %s are grown and %s bear %s each, which makes %s. Each number can be counted on with %s certainty; on average there are more.",
			begin, n.Rooted, plural(n.Plants, "plant", "plants"), plural(n.Good, "good plant", "good plants"), plural(u.StemsPerPlant, "stem", "stems"),
			plural(n.Stems, "stem", "stems"), percentage(n.Certainty)),
		also, u.restsOn(), supplies)
	if n.Stems > 0 && u.variety.ID != 0 {
		reply.Next = []bot.Next{{Label: "Aim at a bloom with them", Request: bot.Typed("/target set", "variety", u.variety.Name, "stems", fmt.Sprint(n.Stems))}}
	}
	return reply, nil
}

func (u undertaking) titled(title string) string {
	if u.grown.Name == "" {
		return title
	}
	return title + ": " + u.grown.Name
}

func percentage(share float64) string {
	return fmt.Sprintf("%g %%", math.Round(share*1000)/10)
}
