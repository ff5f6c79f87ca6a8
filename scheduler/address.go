package scheduler

import (
	"context"
	"time"

	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// address is who is told, where, and when they may be.
type address struct {
	adapter register.Adapter
	coop    Party
	member  Party // the zero Party: the group
	place   string
	times   string // empty: never
	zone    *time.Location
	quiet   Quiet
	paused  bool // nothing can be told them
}

// addressOf finds an addressee; false where the co-op or the member is there no more.
func (z *zones) addressOf(ctx context.Context, reg *register.Register, coop, member int64, kind Kind) (a address, there bool, err error) {
	set, err := reg.Notices(ctx, coop)
	if err == nil {
		a = address{adapter: set.Adapter, coop: Party{set.Key, set.Name}, place: set.Place, times: set.Times}
		a.zone, err = z.Load(set.Zone)
	}
	if err == nil && member != 0 {
		err = z.ownAddress(ctx, reg, member, kind, &a)
	}
	if fault.KindOf(err) == fault.Missing {
		return a, false, nil
	}
	return a, err == nil, err
}

// ownAddress makes the address of a co-op that of one of its members.
func (z *zones) ownAddress(ctx context.Context, reg *register.Register, member int64, kind Kind, a *address) error {
	set, err := reg.Reminders(ctx, member)
	if err != nil {
		return err
	}
	a.member, a.place, a.paused, a.times = Party{set.Key, set.Name}, "", set.Paused != "", set.Times
	switch {
	case !set.Wanted || a.paused:
		a.times = ""
	case kind == Evening:
		a.times = EveningHour.String()
	}
	if a.quiet, err = ReadQuiet(set.Quiet); err != nil {
		return err
	}
	a.zone, err = z.Load(set.Zone)
	return err
}
