package requests

import (
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/raising"
	"shortday/knowledge/register"
)

// spare is what a batch will give beyond what its member's targets need and what is kept back.
type spare struct {
	batch  register.Batch
	stock  exchange.Stock
	number int
}

func (s spare) next() bot.Next {
	return bot.Next{Label: short("Offer " + s.stock.Of(s.number) + " of " + s.batch.Name),
		Request: bot.Typed("/swap offer", "batch", s.batch.Mark, "number", fmt.Sprint(s.number), "stock", stockWord(s.stock))}
}

// need is what a member's targets of a variety take at each step, with the certainty that the co-op reckons with, and
// whether there are any with a number of stems.
func (c counter) need(ctx context.Context, own register.Member, v register.Variety) (sum raising.Numbers, aims bool, err error) {
	plans, err := c.reg.Plans(ctx, own.ID, v.ID)
	if err != nil {
		return sum, false, err
	}
	set, err := c.reg.Settings(ctx, own.Coop)
	if err != nil {
		return sum, false, err
	}
	u := undertaking{seat: register.Seat{Member: own, Coop: register.Coop{ID: own.Coop}}, variety: v, grown: v.Variety}
	u.StemsPerPlant, _ = v.StemsKept()
	u.Certainty = set[certaintySetting] / 100
	if u.Rates, err = c.learnt(ctx, u, ratesOf(set)); err != nil {
		return sum, false, err
	}
	for _, p := range plans {
		if p.Stems == 0 {
			continue
		}
		u.Stems = p.Stems
		n, err := raising.Raise(u.Need)
		if err != nil {
			return sum, false, err
		}
		aims = true
		sum.Stools, sum.Cuttings, sum.Plants = sum.Stools+n.Stools, sum.Cuttings+n.Cuttings, sum.Plants+n.Plants
	}
	return sum, aims, nil
}

// sparesOf gives what a member who aims at blooms of a variety could offer of it: stools beyond those kept back and those that targets need,
// struck cuttings and potted plants beyond those needed. What is offered or promised already is not spare.
func (c counter) sparesOf(ctx context.Context, in *bot.In, own register.Seat, variety int64) ([]spare, error) {
	batches, err := c.reg.Batches(ctx, own.Member.ID, variety)
	if err != nil || len(batches) == 0 {
		return nil, err
	}
	v, err := c.reg.VarietyFor(ctx, own.Member.ID, variety)
	if err != nil {
		return nil, err
	}
	need, aims, err := c.need(ctx, own.Member, v)
	if err != nil || !aims {
		return nil, err
	}
	stools, err := c.stools(ctx, in, own, own.Member, variety, 0)
	if err != nil {
		return nil, err
	}
	promised, err := c.reg.Promised(ctx, own.Member.ID)
	if err != nil {
		return nil, err
	}
	var all []spare
	for _, form := range []struct {
		stock  exchange.Stock
		needed int
		stages []crop.Stage
	}{
		{exchange.Stools, stools.keep + stools.aimed, []crop.Stage{crop.Boxed, crop.Woken}},
		{exchange.Rooted, need.Cuttings, []crop.Stage{crop.Struck}},
		{exchange.Plants, need.Plants, []crop.Stage{crop.Potted}},
	} {
		left := -form.needed
		var most register.Batch
		for _, stage := range form.stages {
			for _, b := range batches {
				if b.Stage == stage {
					left += b.Count - promised[b.ID]
					if free := b.Count - promised[b.ID]; most.ID == 0 || free > most.Count-promised[most.ID] {
						most = b
					}
				}
			}
		}
		if left = min(left, most.Count-promised[most.ID]); left > 0 {
			all = append(all, spare{most, form.stock, left})
		}
	}
	return all, nil
}

// spares says what a member could offer of all that they grow for a target, with the offers prepared. Nothing is offered
// without their word.
func (c counter) spares(ctx context.Context, in *bot.In, own register.Seat) (string, []bot.Next, error) {
	plans, err := c.reg.Plans(ctx, own.Member.ID, 0)
	if err != nil {
		return "", nil, err
	}
	var words []string
	var next []bot.Next
	seen := map[int64]bool{}
	for _, p := range plans {
		if seen[p.Variety] {
			continue
		}
		seen[p.Variety] = true
		found, err := c.sparesOf(ctx, in, own, p.Variety)
		if err != nil {
			return "", nil, err
		}
		for _, s := range found {
			words = append(words, fmt.Sprintf("%s of %s (%s)", s.stock.Of(s.number), s.batch.Name, s.batch.Mark))
			if len(next) < 3 {
				next = append(next, s.next())
			}
		}
	}
	if len(words) == 0 {
		return "", nil, nil
	}
	return "More than your targets need, beyond what you keep back: " + some(words, 6) + ".", next, nil
}

// spareNext offers what a variety has to spare, in a reply about it; nothing for another member than the asker.
func (c counter) spareNext(ctx context.Context, in *bot.In, seat register.Seat, own register.Member, variety int64) ([]bot.Next, error) {
	if variety == 0 || own.ID == 0 || own.ID != seat.Member.ID {
		return nil, nil
	}
	found, err := c.sparesOf(ctx, in, register.Seat{Coop: seat.Coop, Member: own}, variety)
	if err != nil || len(found) == 0 {
		return nil, err
	}
	return []bot.Next{found[0].next()}, nil
}

// wantNext proposes a want of stools of a variety that are missing.
func wantNext(name string, missing int) bot.Next {
	return bot.Next{Label: short(fmt.Sprintf("Ask the co-op for %s", exchange.Stools.Of(missing))),
		Request: bot.Typed("/swap want", "number", fmt.Sprint(missing), "stock", stockWord(exchange.Stools), "variety", name)}
}
