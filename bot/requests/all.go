// Package requests holds the request families, one file each: what can be asked of the register and of the reckonings.
// How a question comes and how an answer is shown it leaves to the adapters.
package requests

import (
	"context"
	"fmt"
	"log/slog"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
)

// NewDesk makes a desk that answers from a register.
func NewDesk(reg *register.Register, log *slog.Logger) *bot.Desk {
	return bot.NewDesk(All(reg), standing(reg), log).Looking(reg.Look)
}

// All gives every family, answered from a register.
func All(reg *register.Register) []bot.Family {
	c := counter{reg: reg, darkroom: make(chan struct{}, 2)}
	families := []bot.Family{
		grower(c),
		varieties(c),
		stock(c),
		target(c),
		plan(c),
		anywhere(when(c)),
		anywhere(raise(c)),
		job(c),
		swap(c),
		healths(c),
		note(c),
		coop(c),
		guideFamily(c),
	}
	for i, f := range families {
		families[i] = together(reg, f)
	}
	return append(families, anywhere(help(families)))
}

// anywhere lets a family that reckons from its fields alone be asked without a co-op.
func anywhere(f bot.Family) bot.Family {
	for i := range f.Requests {
		f.Requests[i].Anywhere = true
	}
	return f
}

// standing gives what the register knows of an asker. Whoever would be a co-op's first member counts as its steward,
// unless the platform governs; what it says of a member is then kept.
func standing(reg *register.Register) func(context.Context, bot.Ask) (bot.Standing, error) {
	var zones calendar.Zones
	return func(ctx context.Context, ask bot.Ask) (bot.Standing, error) {
		seat, err := reg.Find(ctx, ask.Coop.Key, ask.Who.Key)
		if err != nil {
			return bot.Standing{}, err
		}
		if ask.Governed && !seat.Zero() && seat.Member.Steward != ask.Steward {
			if err := reg.Govern(ctx, seat.Member.ID, ask.Steward, ask.At); err != nil {
				return bot.Standing{}, err
			}
			seat.Member.Steward = ask.Steward
		}
		at := seat.Place()
		us := seat.Units() == register.US
		s := bot.Standing{Right: right(seat, ask.Governed), MonthFirst: seat.Coop.MonthFirst, South: at.South(), Fahrenheit: us, Inches: us}
		if at.Zone != "" {
			if s.Zone, err = zones.Load(at.Zone); err != nil {
				return bot.Standing{}, fmt.Errorf("loading the zone of a place: %w", err)
			}
		}
		return s, nil
	}
}

func right(seat register.Seat, governed bool) bot.Right {
	switch {
	case seat.Member.Steward || seat.Coop.ID == 0 && !governed:
		return bot.Steward
	case !seat.Zero():
		return bot.Member
	default:
		return bot.Anyone
	}
}
