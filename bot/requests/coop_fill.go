package requests

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
	"shortday/knowledge/supply"
)

// filler is plants on the shared register that could still bloom in a week, and what has to be done for it.
type filler struct {
	name, owner string
	member      int64
	plants      string
	bloom       crop.Forecast
	step        crop.Step // the next that decides it
	chance      float64   // of blooming in the week
}

// asked is how many holdings are asked whether they could fill a gap, those first whose season is nearest; fillers is how
// many are named.
const (
	asked   = 60
	fillers = 3
)

// fillWords names who could fill a gap, with what, and by when; what it offers the asker's own plants can be aimed with.
func (c counter) fillWords(ctx context.Context, in *bot.In, p prospect, promise register.Promise) (string, []bot.Next, error) {
	found, err := c.fillersOf(ctx, in, p, promise)
	if err != nil || len(found) == 0 {
		return "No plants on the shared register could still be brought to bloom for it.", nil, err
	}
	seat := c.seat(ctx, in)
	var told []string
	var next []bot.Next
	for _, f := range found {
		told = append(told, fmt.Sprintf("%s of %s (%s), %s by %s, for a bloom about %s", f.name, f.owner, f.plants, done(f.step.Kind, pinch(seat)), f.step.LastSafe.Long(), f.bloom.Window))
		if f.member == seat.Member.ID {
			next = append(next, bot.Next{Label: "Aim " + f.name + " at " + promise.Week.Long(),
				Request: bot.Typed("/target set", "variety", f.name, "bloom", promise.Week.String(), "until", promise.Week.Add(6).String())})
		}
	}
	return "What could fill it: " + listed(told) + ".", next, nil
}

// done puts a step as what has to have been done: "struck", "stopped".
func done(k crop.Kind, pinch bool) string {
	switch {
	case k == crop.Strike:
		return "struck"
	case pinch:
		return "pinched"
	}
	return "stopped"
}

// fillersOf asks crop of each holding whether it can still bloom in the promise's week where it stands; so black-out and
// lights are taken only where a member has them. Those that hit the week most surely come first.
func (c counter) fillersOf(ctx context.Context, in *bot.In, p prospect, promise register.Promise) ([]filler, error) {
	var all []register.Grown
	kept := map[register.Grown][]register.Batch{}
	names := map[int64]string{}
	for _, v := range p.nearest(promise) {
		if len(all) >= asked {
			break
		}
		batches, err := c.reg.BatchesOf(ctx, v.ID)
		if err != nil {
			return nil, err
		}
		names[v.ID] = v.Name
		for _, member := range members(batches) {
			if g := (register.Grown{Member: member, Variety: v.ID}); !p.harvest.Taken[g] {
				all = append(all, g)
			}
		}
		for _, b := range batches {
			g := register.Grown{Member: b.Member, Variety: v.ID}
			kept[g] = append(kept[g], b)
		}
	}
	all = all[:min(len(all), asked)]
	wanted := crop.Target{From: promise.Week, To: promise.Week.Add(6)}
	cases, err := c.reg.Cases(ctx, all, wanted, in.Today())
	if err != nil {
		return nil, err
	}
	var found []filler
	for i, g := range all {
		plan := crop.Backwards(cases[i], in.Today())
		step, open := deciding(plan)
		hits := supply.Chance(plan.Bloom.Window, wanted.From, wanted.To)
		if plan.Refusal != nil || plan.Missed != "" || plan.Bloom.Basis == crop.Nothing || !open || hits < 0.1 {
			continue
		}
		own := kept[g]
		found = append(found, filler{names[g.Variety], own[0].Owner, g.Member, gather(own, func(b register.Batch) string { return b.Owner })[0].plants(), plan.Bloom, step, hits})
	}
	return best(found), nil
}

func best(found []filler) []filler {
	slices.SortStableFunc(found, func(a, b filler) int { return cmp.Compare(b.chance, a.chance) })
	return found[:min(len(found), fillers)]
}

// members gives whose the batches are, in their order.
func members(batches []register.Batch) (ids []int64) {
	for _, b := range batches {
		if b.Member != 0 && !slices.Contains(ids, b.Member) {
			ids = append(ids, b.Member)
		}
	}
	return ids
}

// deciding gives the next step by which it is decided whether a plan's bloom can still be reached.
func deciding(plan crop.Plan) (crop.Step, bool) {
	for _, s := range plan.Steps {
		if (s.Kind == crop.Strike || s.Kind == crop.Stop) && !s.Done && s.LastSafe != 0 {
			return s, true
		}
	}
	return crop.Step{}, false
}

// nearest gives the varieties that fit a promise, those first whose natural bloom lies nearest to its week.
func (p prospect) nearest(promise register.Promise) []register.Variety {
	var fit []register.Variety
	for _, v := range p.varieties {
		if promised(promise, v) {
			fit = append(fit, v)
		}
	}
	slices.SortFunc(fit, func(a, b register.Variety) int {
		return cmp.Or(cmp.Compare(offSeason(a, promise.Week), offSeason(b, promise.Week)), cmp.Compare(a.ID, b.ID))
	})
	return fit
}

// offSeason is by how many days a variety's natural bloom misses a day, in whichever hemisphere is nearer.
func offSeason(v register.Variety, on calendar.Day) int {
	natural, _ := v.NaturalOrClass()
	if natural.On.IsZero() {
		return 365
	}
	off := func(near calendar.Day) int {
		days := natural.On.Nearest(near).Sub(near)
		return max(days, -days)
	}
	return min(off(on), off(on.Add(182)))
}
