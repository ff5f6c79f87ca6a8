package scheduler

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// teller tells what errands are of, over one platform. Our own table of receipts decides what has been told.
type teller struct {
	reg      *register.Register
	adapter  register.Adapter
	only     Only
	platform Platform
	compose  Composing
	zones    *zones
	restored time.Time // notices due until then may have been told by a register that is no more
	now      func() time.Time
	log      *slog.Logger
	figures  *figures
	put      putting
	flights  flights
}

// Composing finds the words of a notice as things stand at an instant; false where nothing is left to say.
type Composing func(ctx context.Context, reg *register.Register, s Subject, at time.Time) (Notice, bool, error)

// wait says that an errand is not to be tried before some time has passed.
type wait time.Duration

func (w wait) Error() string { return "not before " + time.Duration(w).String() }

const (
	elsewhere = 5 * time.Minute    // what another process or platform has to tell is looked at again after that
	placeGone = 6 * time.Hour      // a place that is gone is given that long to come back
	atLongest = 7 * 24 * time.Hour // and a platform that fails that long
	lateAfter = 5 * time.Minute
)

// tell tells one errand. It is at its end when there is no error; a wait says when to try again.
func (t *teller) tell(ctx context.Context, e errand) error {
	told, err := t.reg.Telling(ctx, e.Key)
	if err != nil || told.End != "" {
		return err
	}
	if told.Key == "" {
		told = e.told()
	}
	a, there, err := t.zones.addressOf(ctx, t.reg, e.Coop, e.Member, e.About)
	if err != nil || !there {
		return err
	}
	now := t.now().In(a.zone)
	if a.adapter != t.adapter || !t.only.takes(a) {
		if now.After(e.Due.Add(atLongest)) { // nothing that tells it has run for so long
			return nil
		}
		return wait(elsewhere)
	}
	if free := a.quiet.Delay(now); free.After(now) {
		return wait(free.Sub(now))
	}
	subject, due, err := t.subject(ctx, e, a)
	if err != nil || !due {
		return err
	}
	n, some, err := t.notice(ctx, e, subject, a, now)
	if err != nil {
		return err
	}
	if !some {
		return t.silent(ctx, e)
	}
	return t.hand(ctx, e, told, n)
}

// subject gives what a notice is to be made of; false where a later one says it, or nobody wants it any more.
func (t *teller) subject(ctx context.Context, e errand, a address) (s Subject, due bool, err error) {
	s = Subject{Kind: e.About, Coop: e.Coop, Member: e.Member, Day: e.Day, Tiding: e.Tiding}
	if !e.daily() {
		return s, !a.paused, nil
	}
	stroke, err := t.reg.StrokeOf(ctx, e.Coop, e.Member, register.StrokeKind(e.About))
	if err != nil || a.times == "" || stroke.Last > e.Day {
		return s, false, err
	}
	s.Missed, err = t.missed(stroke, e.Day)
	return s, err == nil, err
}

// missed gives the days of a stroke before one that nothing was told of yet.
func (t *teller) missed(stroke register.Stroke, before calendar.Day) (days []calendar.Day, err error) {
	times, err := t.zones.times(stroke.Times, stroke.Zone)
	if err != nil || stroke.Said.IsZero() {
		return nil, err
	}
	for s := range times.strokes(stroke.Said.Add(1)) {
		if s.Day >= before {
			break
		}
		days = append(days, s.Day)
	}
	return days, nil
}

// notice composes an errand's notice, with all that it needs to go.
func (t *teller) notice(ctx context.Context, e errand, s Subject, a address, now time.Time) (n Notice, some bool, err error) {
	if e.Failed != nil {
		n, some, err = t.failure(ctx, *e.Failed)
	} else {
		n, some, err = t.compose(ctx, t.reg, s, now)
	}
	if err != nil || !some {
		return n, some, err
	}
	n.Key, n.Coop, n.Member, n.Place, n.Day = e.Key, a.coop, a.member, a.place, e.Day
	if n.Kind == "" {
		n.Kind = string(e.About)
	}
	if calendar.DayAt(now) > max(e.Day, e.fellDue(a.zone)) {
		n.Text = "This is of " + e.Day.Long() + " and comes late.\n\n" + n.Text
	}
	return n, true, nil
}

// silent keeps that there was nothing to say.
func (t *teller) silent(ctx context.Context, e errand) error {
	if !e.daily() {
		return nil
	}
	return t.reg.Silent(ctx, t.now(), e.Coop, e.Member, register.StrokeKind(e.About), e.Day, nothing)
}

// hand hands a notice to the platform, after asking it whether it is there already where that is in doubt.
func (t *teller) hand(ctx context.Context, e errand, told register.Telling, n Notice) error {
	if told.Doubt || !e.Due.After(t.restored) {
		receipt, there, err := t.look(ctx, n)
		n.Again = t.platform.Find == nil || errors.Is(err, ErrUnknowable)
		if err != nil && !n.Again {
			return t.failed(ctx, e, told, err)
		}
		if there {
			return t.keep(ctx, e, told, n, receipt)
		}
		if n.Again {
			n.Text = "Again, since it is not known whether this came before.\n\n" + n.Text
		}
	}
	receipt, err := t.flights.fly(ctx, n, t.platform.Deliver)
	if err != nil {
		return t.failed(ctx, e, told, err)
	}
	return t.keep(ctx, e, told, n, receipt)
}

func (t *teller) look(ctx context.Context, n Notice) (Receipt, bool, error) {
	if t.platform.Find == nil {
		return "", false, nil
	}
	ctx, cancel := context.WithTimeout(ctx, longestFlight)
	defer cancel()
	return t.platform.Find(ctx, n)
}

// keep keeps a receipt, with what was told of jobs. What is received stays known while the process lives, also where
// it cannot be kept.
func (t *teller) keep(ctx context.Context, e errand, told register.Telling, n Notice, receipt Receipt) error {
	now := t.now()
	told.End, told.Receipt, told.Doubt = register.TellingKept, string(receipt), false
	told.Said = n.Said
	if err := t.reg.KeepTelling(context.WithoutCancel(ctx), now, nothing, told); err != nil {
		return fmt.Errorf("keeping a receipt: %w", err)
	}
	t.flights.forget(e.Key)
	t.figures.told(now.Sub(e.Due))
	t.log.Info("told", "kind", e.About, "coop", e.Coop, "day", e.Day, "key", e.Key)
	return nil
}

// failed keeps what an attempt that failed leaves behind: a doubt where it may have gone, and the end where it never
// will.
func (t *teller) failed(ctx context.Context, e errand, told register.Telling, cause error) error {
	now := t.now()
	t.figures.failed.Inc()
	if why, ok := errors.AsType[Unreachable](cause); ok {
		return t.end(ctx, e, told, string(why), cause)
	}
	before := told
	if errors.Is(cause, context.DeadlineExceeded) || errors.Is(cause, context.Canceled) {
		told.Doubt = true
	}
	bound := e.Due.Add(atLongest)
	if kind := fault.KindOf(cause); kind == fault.Missing || kind == fault.Barred {
		if told.Refused.IsZero() {
			told.Refused = now
		}
		bound = told.Refused.Add(placeGone)
	}
	if !now.Before(bound) {
		return t.giveUp(ctx, e, told, cause)
	}
	if told.Doubt != before.Doubt || !told.Refused.Equal(before.Refused) {
		if err := t.reg.KeepTelling(context.WithoutCancel(ctx), now, nothing, told); err != nil {
			return errors.Join(cause, err)
		}
	}
	t.log.Warn("not told yet", "kind", e.About, "coop", e.Coop, "day", e.Day, "key", e.Key, "err", cause)
	return untold{cause}
}

// untold says that the platform did not take a notice.
type untold struct{ error }

func (u untold) Unwrap() error { return u.error }

func nothing(context.Context, *sql.Tx) error { return nil }
