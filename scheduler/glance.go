package scheduler

import (
	"context"
	"time"

	"shortday/knowledge/register"
)

// glance shows what falls due to a co-op and a member who are told elsewhere. It marks nothing as told.
type glance struct {
	teller *teller
	show   func(Notice) error
	since  time.Time
}

// look shows what fell due since it looked last.
func (g *glance) look(ctx context.Context, now time.Time) error {
	since := g.since
	g.since = now
	whose, known, err := g.teller.only.find(ctx, g.teller.reg)
	if err != nil || !known || whose.Coop == 0 {
		return err
	}
	for _, due := range []struct {
		member int64
		kind   register.StrokeKind
	}{{0, register.StrokeNotice}, {whose.Member, register.StrokeMorning}, {whose.Member, register.StrokeEvening}} {
		if due.kind != register.StrokeNotice && due.member == 0 {
			continue
		}
		stroke, err := g.teller.reg.StrokeOf(ctx, whose.Coop, due.member, due.kind)
		if err != nil {
			return err
		}
		if err := g.one(ctx, stroke, since, now); err != nil {
			return err
		}
	}
	return nil
}

func (g *glance) one(ctx context.Context, stroke register.Stroke, since, now time.Time) error {
	times, err := g.teller.zones.times(stroke.Times, stroke.Zone)
	if err != nil || stroke.Adapter == g.teller.adapter {
		return err
	}
	last := times.Last(now)
	if last.IsZero() || !last.At.After(since) {
		return nil
	}
	a, there, err := g.teller.zones.addressOf(ctx, g.teller.reg, stroke.Coop, stroke.Member, Kind(stroke.Kind))
	if err != nil || !there || a.quiet.Delay(now.In(a.zone)).After(now) {
		return err
	}
	n, some, err := g.teller.compose(ctx, g.teller.reg, Subject{Kind: Kind(stroke.Kind), Coop: stroke.Coop, Member: stroke.Member, Day: last.Day}, now)
	if err != nil || !some {
		return err
	}
	n.Coop, n.Member, n.Day = a.coop, a.member, last.Day
	return g.show(n)
}
