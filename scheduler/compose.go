package scheduler

import (
	"context"
	"errors"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// Subject is what a notice is to be made of. Its text is found when it is told, so that it says how things stand then.
type Subject struct {
	Kind   Kind
	Coop   int64
	Member int64          // 0: the group
	Day    calendar.Day   // the local day struck, or that of the tiding
	Missed []calendar.Day // the days before it that were missed and go with it
	Tiding register.Tiding
}

// Kind is what a notice is. Its text is stored and never changes.
type Kind string

// The kinds: the group's notice of a day, a member's reminders of a morning and of an evening, and a tiding.
const (
	Daily   Kind = "notice"
	Morning Kind = "morning"
	Evening Kind = "evening"
	Told    Kind = "tiding"
)

// Compose makes a notice of a subject as things stand at an instant, all but its key; false where nothing is left to say, or whom it was
// for has left. What it tells is told again until its Said is kept.
func Compose(ctx context.Context, reg *register.Register, s Subject, at time.Time) (n Notice, some bool, err error) {
	err = reg.Look(ctx, func(ctx context.Context) error {
		n, some, err = compose(ctx, reg, s, at)
		return err
	})
	if fault.KindOf(err) == fault.Missing {
		return Notice{}, false, nil
	}
	if err != nil {
		return Notice{}, false, fmt.Errorf("composing a %s: %w", s.Kind, err)
	}
	return n, some, nil
}

func compose(ctx context.Context, reg *register.Register, s Subject, at time.Time) (Notice, bool, error) {
	var seat register.Seat
	var err error
	if s.Member != 0 {
		seat, err = reg.Seat(ctx, s.Member)
	} else {
		seat.Coop, err = reg.Coop(ctx, s.Coop)
	}
	if err != nil {
		return Notice{}, false, err
	}
	n := Notice{Kind: string(s.Kind), Day: s.Day, Coop: Party{seat.Coop.Key, seat.Coop.Name}, Member: Party{seat.Member.Key, seat.Member.Name}}
	some := false
	switch s.Kind {
	case Daily:
		n, some, err = composeDaily(ctx, reg, n, seat.Coop, s, at)
	case Morning, Evening:
		n, some, err = composeReminder(ctx, reg, n, seat, s)
	case Told:
		n, some, err = composeTold(ctx, reg, n, s.Tiding)
	default:
		err = errors.New("there is no such notice")
	}
	return n, some, err
}

// location gives the zone of a co-op or a member, UTC while none is known.
func location(zone string) (*time.Location, error) {
	if zone == "" {
		return time.UTC, nil
	}
	return time.LoadLocation(zone)
}

// spanFrom gives the time that the stroke of a day is for.
func spanFrom(times string, d calendar.Day) (span, error) {
	s := span{d, d.Add(1)}
	if times == "" { // it was struck before they were taken away
		return s, nil
	}
	read, err := ReadTimes(times, time.UTC) // which days are named depends on no zone
	if err != nil {
		return s, err
	}
	if next := read.named(s.next); !next.IsZero() {
		s.next = next
	}
	return s, nil
}
