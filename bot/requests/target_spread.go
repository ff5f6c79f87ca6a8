package requests

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/supply"
)

func (c counter) spreadRequest() bot.Request {
	return bot.Request{
		Name: "spread", Help: "So many stems every week: which of your varieties, how many plants, and which stops",
		Examples: []string{`/target spread from:"20 sep" until:"14 nov" stems:60`, `/target spread from:"20 sep" until:"14 nov" stems:60 certainty:80 varieties:"Saltmarsh, Copper Latch"`},
		Right:    bot.Member,
		Fields: []bot.Field{
			{Name: "from", Help: "a day of the first week", Kind: bot.DayKind},
			{Name: "until", Help: "a day of the last week", Kind: bot.DayKind},
			{Name: "stems", Counts: []string{"stem"}, Help: "how many stems every week", Kind: bot.WholeKind, Min: new(1.0), Max: new(float64(supply.MostStems))},
			{Name: "certainty", Help: "per cent of certainty for each week; 95 if neither you nor the co-op says otherwise", Kind: bot.NumberKind, Min: new(50.0), Max: new(99.0)},
			{Name: "varieties", Help: "the only ones to use, with commas; all that are kept if left out", Kind: bot.LongTextKind},
			{Name: "coop", Help: "yes for the plants of all members, by a steward", Kind: bot.YesKind},
			{Name: "targets", Help: "a spread that was proposed, to set its targets", Kind: bot.LongTextKind},
			c.forField(),
		},
		Handle: c.spread,
	}
}

// spread proposes targets, or sets those of a proposal: the button that does it holds them, so that what is set is what
// was shown.
func (c counter) spread(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if in.Yes("coop") && !seat.Member.Steward {
		in.Fail(fault.New(fault.Barred, "Only a steward spreads the bloom over all members' plants. Leave out coop:, or ask a steward; /coop show names them."))
	}
	if in.Has("targets") {
		return c.setSpread(ctx, in, seat, actor, own)
	}
	w := supply.Wish{Stems: in.Whole("stems"), Certainty: in.Number("certainty") / 100, Today: in.Today(), Most: map[int64]int{}}
	from, until := in.Day("from"), in.Day("until")
	switch {
	case in.Err() != nil:
		return bot.Reply{}, in.Err()
	case from.IsZero() || until.IsZero() || w.Stems == 0:
		return bot.Reply{}, fault.New(fault.Unclear, "A spread needs the first and the last week and the stems of each, as in /target spread from:\"20 sep\" until:\"14 nov\" stems:60.")
	case until < from:
		return bot.Reply{}, fault.New(fault.Unclear, "%s comes before %s. Give an until: after the from:.", until.Long(), from.Long())
	case from.Monday() <= in.Today():
		return bot.Reply{}, fault.New(fault.Unclear, "The week of %s has begun. Give a from: in a later week.", from.Monday().Long())
	}
	w.First, w.Weeks = from.Monday(), until.Monday().Sub(from.Monday())/7+1
	if w.Weeks > supply.MostWeeks {
		return bot.Reply{}, fault.New(fault.Unclear, "From %s to %s are %d weeks; a spread is reckoned over %d at most. Give fewer.", from.Long(), until.Long(), w.Weeks, supply.MostWeeks)
	}
	p, err := c.proposeSpread(ctx, in, seat, own, w)
	if err != nil {
		return bot.Reply{}, err
	}
	return p.reply(in, seat, own), nil
}

// proposal is a spread with what its choices stand for.
type proposal struct {
	supply.Wish
	supply.Spread
	growings []growing // by choice
	none     []string  // varieties of which there is nothing to grow from, or that cannot bloom then
	left     int       // holdings that were left out
	split    supply.Taught
}

func (c counter) proposeSpread(ctx context.Context, in *bot.In, seat register.Seat, own register.Member, w supply.Wish) (p proposal, err error) {
	p.Wish = w
	if p.split, err = c.split(ctx, seat.Coop.ID, in.Today()); err != nil {
		return p, err
	}
	p.Wish.Split = p.split.Split
	set, err := c.reg.Settings(ctx, seat.Coop.ID)
	if err != nil {
		return p, err
	}
	if p.Certainty == 0 {
		p.Certainty = 0.95
		if share := set[certaintySetting]; share > 0 {
			p.Certainty = min(share/100, 0.99)
		}
	}
	whose := own.ID
	if in.Yes("coop") {
		whose = 0
	}
	stands, err := c.reg.Harvest(ctx, seat.Coop.ID, whose, w.First, w.First.Add(7*w.Weeks), in.Today())
	if err != nil {
		return p, err
	}
	p.Standing = stands.Plantings
	if err := c.choices(ctx, in, seat, whose, set, &p); err != nil {
		return p, err
	}
	c.reg.Rest(ctx)
	p.Spread, err = supply.Plan(p.Wish)
	return p, err
}

// reply tells a proposal: the plantings, how sure each week is, whether fewer plants would do, and the way on.
func (p proposal) reply(in *bot.In, seat register.Seat, own register.Member) bot.Reply {
	reply := bot.Reply{Title: titleOf(seat, own) + fmt.Sprintf("%s every week, %s to %s", plural(p.Stems, "stem", "stems"), p.First.Long(), p.First.Add(7*p.Weeks-1).Long()), Private: true}
	var text prose
	again := func(pairs ...string) string {
		asked := []string{"from", p.First.String(), "until", p.First.Add(7*p.Weeks - 1).String(), "stems", fmt.Sprint(p.Stems), "varieties", in.Text("varieties"), "coop", in.Text("coop"), "for", in.Text("for")}
		return bot.Typed("/target spread", append(asked, pairs...)...)
	}
	switch {
	case p.Met && p.Total == 0:
		text.add("The targets that stand bring that already: each week by itself with %s or more.", percentage(p.Certainty))
		text.add("%s", p.weekWords())
	case p.Met:
		text.add("%s in %s do it: each week has its stems with %s or more, counted by itself. That all weeks have them in one season is less sure.",
			plural(p.Total, "plant", "plants"), plural(len(p.plantings()), "planting", "plantings"), percentage(p.Certainty))
		text.add("%s", p.weekWords())
		text.add("%s", p.leastWords())
		text.add("Plants are those whose stems sell; cuttings are how many to strike for them. Nine blooms in ten come within the days given. %s", splitWords(p.split))
		text.add("%s", p.cautions(in.Today()))
		reply.Rows = p.rows(in, pinch(seat))
		reply.Next = []bot.Next{{Label: "Set these targets", Request: bot.Typed("/target spread", "targets", p.aims(in.Yes("coop")), "coop", in.Text("coop"), "for", in.Text("for"))}}
	default:
		text.add("With the plants there are not every week can be made sure with %s. With all that helps the weeks come to: %s.", percentage(p.Certainty), p.chancesWords())
		if lower := 5 * int(slices.Min(p.Chance)*100/5); lower >= 50 {
			reply.Next = append(reply.Next, bot.Next{Label: fmt.Sprintf("With %d %% for each week", lower), Request: again("certainty", fmt.Sprint(lower))})
		} else {
			text.add("Another variety that blooms then, or more plants, would help: /variety list names what the co-op keeps.")
		}
		if len(p.growings) == 0 {
			text = prose{"There are no plants that could be brought to bloom in these weeks. /stock add enters what there is; /variety list names what the co-op keeps."}
		}
	}
	if len(p.none) > 0 {
		text.add("Not used: %s.", some(p.none, 8))
	}
	if p.left > 0 {
		text.add("The %d largest holdings were looked at; %d were left out. Name varieties: to choose others.", mostHoldings, p.left)
	}
	reply.Text = text.String()
	return reply
}

// weekWords tells the least sure week, and the others.
func (p proposal) weekWords() string { return "By week: " + p.chancesWords() + "." }

func (p proposal) chancesWords() string {
	var told []string
	for i, c := range p.Chance {
		told = append(told, p.First.Add(7*i).Annual().String()+" "+chance(c))
	}
	return listed(told)
}

// leastWords says whether fewer plants would do.
func (p proposal) leastWords() string {
	switch {
	case p.Tried || p.Least >= p.Total:
		return "Fewer plants cannot do it: every smaller number was tried or ruled out."
	case p.Least > 0:
		return fmt.Sprintf("No smaller number was found by leaving out and exchanging plants; fewer than %d cannot do it, and whether a number between does is not known.", p.Least)
	}
	return "No smaller number was found by leaving out and exchanging plants."
}

// planting is plants of one choice in a proposal.
type planting struct {
	growing
	plants, stems int
	window        calendar.Window
}

// plantings gives what is to be grown, by stop.
func (p proposal) plantings() (all []planting) {
	for i, n := range p.Plants {
		if n > 0 {
			all = append(all, planting{p.growings[i], n, n * p.Choices[i].Stems, p.Choices[i].Window})
		}
	}
	slices.SortStableFunc(all, func(a, b planting) int { return a.stop.Sub(b.stop) })
	return all
}

func (p proposal) rows(in *bot.In, pinch bool) bot.Table {
	stop := "stop"
	if pinch {
		stop = "pinch"
	}
	columns := append(bot.Columns("variety", "plants", "cuttings", "stems"), bot.Column{Key: "stop", Head: stop}, bot.Column{Key: "bloom", Head: "bloom"}, bot.Column{Key: "days", Head: "± days"})
	if in.Yes("coop") {
		columns = append(bot.Columns("member"), columns...)
	}
	rows := bot.Table{Columns: columns}
	for _, g := range p.plantings() {
		cells := []bot.Cell{bot.Text(g.variety.Name), bot.Whole(g.plants), g.cuttings(g.plants), bot.Whole(g.stems), bot.Day(g.stop), bot.Day(g.window.Likely),
			bot.Whole((g.window.Latest.Sub(g.window.Earliest) + 1) / 2)}
		if in.Yes("coop") {
			cells = append([]bot.Cell{bot.Text(g.member.Name)}, cells...)
		}
		rows.Add(cells...)
	}
	return rows
}

// cautions tells once what is to be known of the rights in the varieties that are to be raised.
func (p proposal) cautions(today calendar.Day) string {
	var told []string
	for _, g := range p.plantings() {
		if caution := g.variety.Caution(today); caution != "" && !slices.Contains(told, caution) {
			told = append(told, caution)
		}
	}
	return strings.Join(told, "\n")
}
