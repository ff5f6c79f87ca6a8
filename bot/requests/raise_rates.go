package requests

import (
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/raising"
	"shortday/knowledge/register"
)

// rates gives what the chain is reckoned with: what the fields say, else the counts in the register weighed against
// the co-op's settings or the defaults.
func (c counter) rates(ctx context.Context, in *bot.In, u undertaking, rates raising.Rates) raising.Rates {
	rates, err := c.learnt(ctx, u, rates)
	if err != nil {
		in.Fail(err)
	}
	if in.Has("shoots") {
		rates.Shoots = raising.Shoots{Mean: in.Number("shoots"), Source: "as you say"}
	}
	for field, rate := range map[string]*raising.Rate{"winter": &rates.Winter, "strike": &rates.Strike, "grow": &rates.Grow, "market": &rates.Market} {
		if in.Has(field) {
			*rate = raising.Rate{Share: in.Number(field) / 100, Source: "as you say"}
		}
	}
	return rates.OrDefault()
}

// learnt weighs rates against the counts in the register.
func (c counter) learnt(ctx context.Context, u undertaking, rates raising.Rates) (raising.Rates, error) {
	shoots, source := u.grown.ShootsOrDefault()
	rates.Shoots = raising.Shoots{Mean: shoots, Source: source}
	winter, err := c.narrowest(ctx, u, func(n register.Counts) (tried, came int) { return n.StoolsBoxed, n.StoolsWoken })
	if err != nil {
		return rates, err
	}
	strike, err := c.narrowest(ctx, u, func(n register.Counts) (tried, came int) { return n.CuttingsStruck, n.CuttingsRooted })
	rates.Winter = raising.Learn(rates.Winter, winter.StoolsBoxed, winter.StoolsWoken)
	rates.Strike = raising.Learn(rates.Strike, strike.CuttingsStruck, strike.CuttingsRooted)
	return rates, err
}

// narrowest gives the counts that lie nearest to the member and the variety and have as many plants as the default is
// worth; where none have, the co-op's of all varieties.
func (c counter) narrowest(ctx context.Context, u undertaking, of func(register.Counts) (tried, came int)) (counts register.Counts, err error) {
	for _, about := range []struct{ variety, member int64 }{{u.variety.ID, u.seat.Member.ID}, {0, u.seat.Member.ID}, {u.variety.ID, 0}, {0, 0}} {
		key, known := [2]int64{about.variety, about.member}, false
		if counts, known = c.counted[key]; !known {
			if counts, err = c.reg.Rates(ctx, u.seat.Coop.ID, about.variety, about.member); err != nil {
				return counts, err
			}
			if c.counted != nil {
				c.counted[key] = counts
			}
		}
		if tried, _ := of(counts); tried >= raising.EarlierPlants {
			break
		}
	}
	return counts, nil
}

// restsOn says where each rate comes from.
func (u undertaking) restsOn() string {
	r := u.Rates
	return fmt.Sprintf("This rests on: stools that live %s; shoots %s; cuttings that root %s; fit to plant %s; that sell %s; stems kept on a plant %d, %s.",
		r.Winter.Basis(), r.Shoots.Basis(), r.Strike.Basis(), r.Grow.Basis(), r.Market.Basis(), u.StemsPerPlant, u.keeping)
}
