// Package requests holds the request families, one file each: what can be asked of the register and of the reckonings.
// How a question comes and how an answer is shown it leaves to the adapters.
package requests

import (
	"context"
	"fmt"
	"time"

	"shortday/bot"
	"shortday/knowledge/register"
)

// All gives every family, answered from a register.
func All(reg *register.Register) []bot.Family {
	c := counter{reg}
	families := []bot.Family{
		grower(c),
		varieties(c),
		stock(c),
		target(c),
		plan(c),
		when(c),
		raise(c),
		job(c),
		note(c),
		coop(c),
		guideFamily(c),
	}
	for i, f := range families {
		families[i] = together(reg, f)
	}
	return append(families, help(families))
}

// Standing gives what the register knows of an asker. Whoever would be a co-op's first member counts as its steward.
func Standing(reg *register.Register) func(context.Context, bot.Ask) (bot.Standing, error) {
	return func(ctx context.Context, ask bot.Ask) (bot.Standing, error) {
		seat, err := reg.Find(ctx, ask.Coop.Key, ask.Who.Key)
		if err != nil {
			return bot.Standing{}, err
		}
		at := seat.Place()
		us := seat.Units() == register.US
		s := bot.Standing{Right: right(seat), MonthFirst: seat.Coop.MonthFirst, South: at.South(), Fahrenheit: us, Inches: us}
		if at.Zone != "" {
			if s.Zone, err = time.LoadLocation(at.Zone); err != nil {
				return bot.Standing{}, fmt.Errorf("loading the zone of a place: %w", err)
			}
		}
		return s, nil
	}
}

func right(seat register.Seat) bot.Right {
	switch {
	case seat.Coop.ID == 0 || seat.Member.Steward:
		return bot.Steward
	case !seat.Zero():
		return bot.Member
	default:
		return bot.Anyone
	}
}
