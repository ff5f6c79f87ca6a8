package scheduler

import (
	"context"
	"database/sql"
	"fmt"
	"log/slog"
	"time"

	"shortday/knowledge/register"
)

// striker strikes the hours of an adapter's co-ops and members, and makes errands of what is due.
type striker struct {
	reg     *register.Register
	adapter register.Adapter
	only    Only
	zones   *zones
	log     *slog.Logger
	figures *figures
	put     putting
}

// putting enqueues errands in a transaction.
type putting func(context.Context, *sql.Tx, ...errand) error

const (
	atOnce = 200           // strokes in one transaction: others come to write in between
	never  = 253402300799  // the end of 9999, in Unix seconds
	unread = 8 * time.Hour // settings that cannot be read are looked at again after that
)

// strike strikes all that is due at an instant, and gives when the next stroke comes; the zero time where none will. By
// a clock that is behind the register it refuses, and strikes nothing.
func (s *striker) strike(ctx context.Context, now time.Time) (next time.Time, err error) {
	whose, known, err := s.only.find(ctx, s.reg)
	if err != nil || !known {
		return time.Time{}, err
	}
	pulse, err := s.reg.Pulse(ctx, s.adapter, whose)
	if err != nil {
		return time.Time{}, err
	}
	if now.Unix() < pulse.Last.Unix() { // the register holds whole seconds
		_, err := Due(Times{}, 0, pulse.Last, now)
		return time.Time{}, err
	}
	if pulse.Changed {
		if err := s.takeUp(ctx, now); err != nil {
			return time.Time{}, fmt.Errorf("taking up settings: %w", err)
		}
	}
	if pulse.Changed || !pulse.Next.IsZero() && !pulse.Next.After(now) {
		if err := s.strikeDue(ctx, whose, now); err != nil {
			return time.Time{}, fmt.Errorf("striking: %w", err)
		}
		if pulse, err = s.reg.Pulse(ctx, s.adapter, whose); err != nil {
			return time.Time{}, err
		}
	}
	if !pulse.Meets.IsZero() && !pulse.Meets.After(now) {
		if err := s.reg.RemindOfMeetings(ctx, now); err != nil {
			return time.Time{}, fmt.Errorf("reminding of handovers: %w", err)
		}
		if pulse, err = s.reg.Pulse(ctx, s.adapter, whose); err != nil {
			return time.Time{}, err
		}
	}
	if pulse.Tidings {
		err = s.takeTidings(ctx, now)
	}
	return sooner(pulse.Next, pulse.Meets), err
}

// sooner gives the earlier of two instants; the zero time is none.
func sooner(a, b time.Time) time.Time {
	if a.IsZero() || !b.IsZero() && b.Before(a) {
		return b
	}
	return a
}

// takeUp settles the strokes whose settings changed.
func (s *striker) takeUp(ctx context.Context, now time.Time) error {
	for {
		changed, err := s.reg.ChangedStrokes(ctx, atOnce)
		if err != nil || len(changed) == 0 {
			return err
		}
		for i := range changed {
			if err := s.settle(ctx, &changed[i], now); err != nil {
				return err
			}
		}
		nothing := func(context.Context, *sql.Tx, []register.Stroke) error { return nil }
		if err := s.reg.Strike(ctx, now, changed, nothing); err != nil {
			return err
		}
	}
}

// settle gives a stroke the settings as they are now: what was owed by the old ones stays owed, and nothing else of
// the past is.
func (s *striker) settle(ctx context.Context, stroke *register.Stroke, now time.Time) error {
	at := stroke.Changed
	if at.IsZero() || at.After(now) {
		at = now
	}
	stroke.Next = time.Unix(never, 0)
	a, there, err := s.zones.addressOf(ctx, s.reg, stroke.Coop, stroke.Member, Kind(stroke.Kind))
	if err != nil || !there {
		return err
	}
	old, err := s.zones.times(stroke.Times, stroke.Zone)
	if err != nil { // it was read when it was set: a zone that is known no more
		old = Times{}
	}
	set, err := s.zones.times(a.times, a.zone.String())
	if err != nil {
		s.log.Error("times cannot be read", "coop", stroke.Coop, "kind", stroke.Kind, "err", err)
		stroke.Next = now.Add(unread)
		return nil
	}
	toldAll := stroke.Said == stroke.Last
	stroke.Adapter, stroke.Times, stroke.Zone = a.adapter, a.times, a.zone.String()
	if stroke.Last = Settle(old, set, stroke.Last, at); toldAll {
		stroke.Said = stroke.Last
	}
	stroke.Next = following(set, *stroke)
	return nil
}

// following gives when a stroke is struck after the day last struck.
func following(times Times, stroke register.Stroke) time.Time {
	for s := range times.strokes(stroke.Last.Add(1)) {
		return s.At
	}
	return time.Unix(never, 0)
}

// strikeDue strikes all strokes that are due, and enqueues an errand for each.
func (s *striker) strikeDue(ctx context.Context, whose register.Whose, now time.Time) error {
	for {
		due, err := s.reg.DueStrokes(ctx, s.adapter, whose, now, atOnce)
		if err != nil || len(due) == 0 {
			return err
		}
		owed := make(map[int64]errand, len(due))
		for i := range due {
			if e, ok := s.owed(&due[i], now); ok {
				owed[due[i].ID] = e
			}
		}
		if err := s.reg.Strike(ctx, now, due, s.enqueue(owed)); err != nil {
			return err
		}
		s.figures.due.Add(float64(len(owed)))
	}
}

// enqueue puts the errands of those strokes that were struck.
func (s *striker) enqueue(owed map[int64]errand) func(context.Context, *sql.Tx, []register.Stroke) error {
	return func(ctx context.Context, tx *sql.Tx, struck []register.Stroke) error {
		errands := make([]errand, 0, len(struck))
		for _, stroke := range struck {
			if e, ok := owed[stroke.ID]; ok {
				errands = append(errands, e)
			}
		}
		return s.put(ctx, tx, errands...)
	}
}

// owed moves a stroke past an instant and gives the errand of what it owed by then.
func (s *striker) owed(stroke *register.Stroke, now time.Time) (errand, bool) {
	times, err := s.zones.times(stroke.Times, stroke.Zone)
	if err != nil {
		s.log.Error("times cannot be read", "coop", stroke.Coop, "kind", stroke.Kind, "err", err)
		stroke.Next = now.Add(unread)
		return errand{}, false
	}
	owed, _ := Due(times, stroke.Last, time.Time{}, now) // it can refuse a clock alone
	if owed.IsZero() {
		stroke.Next = following(times, *stroke)
		return errand{}, false
	}
	stroke.Last = owed.Day
	stroke.Next = following(times, *stroke)
	return ofStroke(*stroke, owed), true
}

// takeTidings makes errands of what deeds led to.
func (s *striker) takeTidings(ctx context.Context, now time.Time) error {
	for {
		waiting, err := s.reg.Tidings(ctx, atOnce)
		if err != nil || len(waiting) == 0 {
			return err
		}
		for _, t := range waiting {
			err := s.reg.TakeTiding(ctx, t.ID, now, func(ctx context.Context, tx *sql.Tx) error { return s.put(ctx, tx, ofTiding(t)) })
			if err != nil {
				return fmt.Errorf("taking tidings: %w", err)
			}
			s.figures.due.Inc()
		}
	}
}
