package requests

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/raising"
	"shortday/knowledge/register"
	"shortday/knowledge/supply"
)

// growing is one way in which a member's plants of a variety can be brought to bloom.
type growing struct {
	member  register.Member
	variety register.Variety
	need    raising.Need
	aim     calendar.Day // the bloom day that a target names for it
	stop    calendar.Day
}

// cuttings gives how many to strike for so many plants whose stems sell.
func (g growing) cuttings(plants int) bot.Cell {
	need := g.need
	need.Stems = plants * max(need.StemsPerPlant, 1)
	n, err := raising.Raise(need)
	if err != nil {
		return bot.Cell{}
	}
	return bot.Whole(n.Cuttings)
}

// mostHoldings is how many members' varieties a spread chooses from, the largest of those mostLooked that have the most
// plants; between is how many days lie between the blooms that are tried for.
const (
	mostHoldings = 60
	mostLooked   = 240
	between      = 4
	around       = 28 // days before and after the weeks in which a bloom may still help
)

// holdingOf is what a member can grow of a variety.
type holdingOf struct {
	member  register.Member
	variety register.Variety
	need    raising.Need
	most    int // plants whose stems sell that can be counted on
}

// named names a holding, with its member where the spread is over all members' plants.
func (h holdingOf) named(whose int64) string {
	if whose == 0 {
		return h.member.Name + "'s " + h.variety.Name
	}
	return h.variety.Name
}

// choices finds how the plants of a member, or of all where whose is 0, can be brought to bloom about the weeks wanted.
func (c counter) choices(ctx context.Context, in *bot.In, seat register.Seat, whose int64, set map[string]float64, p *proposal) error {
	holdings, err := c.holdings(ctx, in, seat, whose, set, p)
	if err != nil {
		return err
	}
	if len(holdings) > mostHoldings {
		slices.SortStableFunc(holdings, func(a, b holdingOf) int { return cmp.Compare(b.most, a.most) })
		p.left += len(holdings) - mostHoldings
		holdings = holdings[:mostHoldings]
	}
	for i, h := range holdings {
		stock := int64(i + 1)
		p.Most[stock] = h.most
		before := len(p.Choices)
		if err := c.growings(ctx, in, h, stock, p); err != nil {
			return err
		}
		if len(p.Choices) == before {
			p.none = append(p.none, h.named(whose)+" (cannot be brought to bloom then)")
		}
	}
	return nil
}

// growings adds the ways in which one holding can bloom: for every few days the plan that crop makes, each stop once. A
// day for which a target stands already is left out.
func (c counter) growings(ctx context.Context, in *bot.In, h holdingOf, stock int64, p *proposal) error {
	first, last := p.First.Add(-around), p.First.Add(7*p.Weeks+around)
	rests, err := c.reg.Case(ctx, h.member.ID, h.variety.ID, crop.Target{From: p.First, To: p.First.Add(7 * p.Weeks)}, in.Today())
	if err != nil {
		return err
	}
	standing, err := c.reg.Plans(ctx, h.member.ID, h.variety.ID)
	if err != nil {
		return err
	}
	type way struct {
		stop  calendar.Day
		bloom calendar.Window
	}
	found := map[way]int{} // the choice
	for aim := max(first, in.Today()+1); aim <= last; aim = aim.Add(between) {
		rests.Wanted = crop.Target{From: aim, To: aim}
		plan := crop.Backwards(rests, in.Today())
		w := way{stopOf(plan), plan.Bloom.Window}
		taken := slices.ContainsFunc(standing, func(s register.Plan) bool { return s.Wanted.From == aim })
		if taken || plan.Refusal != nil || plan.Missed != "" || plan.Bloom.Basis == crop.Nothing || w.bloom.IsZero() ||
			supply.Chance(w.bloom, p.First, p.First.Add(7*p.Weeks-1)) < 0.01 {
			continue
		}
		g := growing{h.member, h.variety, h.need, aim, w.stop}
		i, known := found[w]
		switch {
		case !known:
			found[w] = len(p.Choices)
			p.growings = append(p.growings, g)
			p.Choices = append(p.Choices, supply.Choice{Stock: stock, Variety: h.variety.ID, Window: w.bloom, Stems: h.need.StemsPerPlant})
		case off(aim, w.bloom.Likely) < off(p.growings[i].aim, w.bloom.Likely):
			p.growings[i] = g
		}
	}
	return nil
}

func off(a, b calendar.Day) int { return max(a.Sub(b), b.Sub(a)) }

// stopOf gives the likely day of a plan's stop; no day where it has none.
func stopOf(plan crop.Plan) calendar.Day {
	for _, s := range plan.Steps {
		if s.Kind == crop.Stop {
			return s.Window.Likely
		}
	}
	return 0
}

// keptKind is a variety of which a member has plants.
type keptKind struct {
	member  register.Member
	variety int64
	most    int // no more than so many plants can come of them, whatever is still to be found out
	place   int // in the order of members
}

// holdings gives what there is to grow from: by the stock in the register, without what targets that stand need of it. Of
// very many those with the most plants are looked at, until no other can be among those that a spread chooses from.
func (c counter) holdings(ctx context.Context, in *bot.In, seat register.Seat, whose int64, set map[string]float64, p *proposal) ([]holdingOf, error) {
	all, err := c.keptKinds(ctx, in, seat, whose)
	if err != nil {
		return nil, err
	}
	c.counted = map[[2]int64]register.Counts{}
	slices.SortStableFunc(all, func(a, b keptKind) int { return cmp.Compare(b.most, a.most) })
	type placed[T any] struct {
		is    T
		place int
	}
	var found []placed[holdingOf]
	var none []placed[string]
	var largest []int // what the holdings found give, the most first
	for i, k := range all {
		if i == mostLooked || len(largest) >= mostHoldings && largest[mostHoldings-1] > k.most {
			p.left = len(all) - i
			break
		}
		h, err := c.holding(ctx, in, register.Seat{Coop: seat.Coop, Member: k.member}, k.variety, set)
		if err != nil {
			return nil, err
		}
		if h.most <= 0 {
			none = append(none, placed[string]{h.named(whose) + " (no plants to spare)", k.place})
			continue
		}
		found = append(found, placed[holdingOf]{h, k.place})
		at, _ := slices.BinarySearchFunc(largest, h.most, func(a, b int) int { return cmp.Compare(b, a) })
		largest = slices.Insert(largest, at, h.most)
	}
	slices.SortFunc(found, func(a, b placed[holdingOf]) int { return cmp.Compare(a.place, b.place) })
	slices.SortFunc(none, func(a, b placed[string]) int { return cmp.Compare(a.place, b.place) })
	for _, n := range none {
		p.none = append(p.none, n.is)
	}
	holdings := make([]holdingOf, len(found))
	for i, f := range found {
		holdings[i] = f.is
	}
	return holdings, nil
}

// keptKinds gives the varieties of which a member, or with 0 every member, has plants.
func (c counter) keptKinds(ctx context.Context, in *bot.In, seat register.Seat, whose int64) (all []keptKind, err error) {
	only, err := c.only(ctx, in, seat)
	if err != nil {
		return nil, err
	}
	varieties, err := c.reg.Varieties(ctx, seat.Coop.ID)
	if err != nil {
		return nil, err
	}
	shoots := map[int64]float64{}
	for _, v := range varieties {
		shoots[v.ID], _ = v.ShootsOrDefault()
	}
	members, err := c.reg.Members(ctx, seat.Coop.ID)
	if err != nil {
		return nil, err
	}
	for _, m := range members {
		if whose != 0 && m.ID != whose {
			continue
		}
		batches, err := c.reg.Batches(ctx, m.ID, 0)
		if err != nil {
			return nil, err
		}
		at := map[int64]int{}
		for _, b := range batches {
			if len(only) > 0 && !slices.Contains(only, b.Variety) {
				continue
			}
			i, ok := at[b.Variety]
			if !ok {
				i = len(all)
				at[b.Variety], all = i, append(all, keptKind{member: m, variety: b.Variety, place: i})
			}
			if isStools(b) {
				all[i].most += int(math.Ceil(float64(b.Count)*shoots[b.Variety])) + 1
			} else {
				all[i].most += b.Count
			}
		}
	}
	return all, nil
}

// only gives the varieties that the field names, none where all may be used.
func (c counter) only(ctx context.Context, in *bot.In, seat register.Seat) (ids []int64, err error) {
	for name := range strings.FieldsFuncSeq(in.Text("varieties"), func(r rune) bool { return r == ',' || r == '\n' || r == ';' }) {
		if name = strings.TrimSpace(name); name == "" {
			continue
		}
		v, err := c.reg.VarietyNamed(ctx, seat.Coop.ID, name)
		if err != nil {
			return nil, err
		}
		ids = append(ids, v.ID)
	}
	if in.Has("varieties") && len(ids) == 0 {
		return nil, fault.New(fault.Unclear, "Which varieties? Name them with commas, as in varieties:\"Saltmarsh, Copper Latch\", or leave the field out.")
	}
	return ids, nil
}

func (c counter) holding(ctx context.Context, in *bot.In, seat register.Seat, id int64, set map[string]float64) (h holdingOf, err error) {
	h.member = seat.Member
	if h.variety, err = c.reg.VarietyFor(ctx, seat.Member.ID, id); err != nil {
		return h, err
	}
	u := undertaking{seat: seat, variety: h.variety, grown: h.variety.Variety}
	h.need.StemsPerPlant, _ = h.variety.StemsKept()
	h.need.Certainty = set[certaintySetting] / 100
	h.need.Rates = c.rates(ctx, in, u, ratesOf(set))
	has, err := c.inHand(ctx, in, u, 0)
	if err = first(err, in.Err()); err != nil {
		return h, err
	}
	given, err := raising.Give(has.spare, h.need)
	if err != nil {
		return h, err
	}
	struck, err := raising.GiveCuttings(has.cuttings, h.need)
	if err != nil {
		return h, err
	}
	young := struck.Good + int(float64(has.plants)*h.need.Rates.OrDefault().Market.Share)
	plans, err := c.reg.Plans(ctx, seat.Member.ID, id)
	if err != nil {
		return h, err
	}
	for _, p := range plans { // what is still to be struck for a target is spared from the stools already
		if p.Keeps() || p.Stems == 0 || p.Refusal != "" {
			continue
		}
		waits, err := c.stoolsFor(ctx, in, seat, p)
		if err != nil {
			return h, err
		}
		if waits == 0 {
			young -= (p.Stems + h.need.StemsPerPlant - 1) / h.need.StemsPerPlant
		}
	}
	h.most = given.Good + max(young, 0)
	return h, nil
}
