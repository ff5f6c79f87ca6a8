package scheduler

import (
	"context"
	"database/sql"
	"errors"
	"strings"

	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// giveUp ends an errand that can never go. The stewards are told of it unless the notice before it ended so too.
func (t *teller) giveUp(ctx context.Context, e errand, told register.Telling, cause error) error {
	now, why := t.now(), reason(cause)
	latest, err := t.reg.LatestTelling(ctx, e.Coop, e.Member)
	if err != nil {
		return err
	}
	var tell []errand
	if e.Failed == nil && latest.End != register.TellingGivenUp {
		members, err := t.reg.Members(ctx, e.Coop)
		if err != nil {
			return err
		}
		for _, m := range members {
			if m.Steward && m.ID != e.Member {
				tell = append(tell, ofFailure(e, m.ID, why, now))
			}
		}
	}
	return t.end(ctx, e, told, why, cause, tell...)
}

// end ends an errand that can never go, with what is to be told of it. A member who cannot be told anything is not tried
// again until they set their reminders, or are heard of.
func (t *teller) end(ctx context.Context, e errand, told register.Telling, why string, cause error, tell ...errand) error {
	now := t.now()
	told.End = register.TellingGivenUp
	err := t.reg.Together(context.WithoutCancel(ctx), func(ctx context.Context) error {
		enqueue := func(ctx context.Context, tx *sql.Tx) error { return t.put(ctx, tx, tell...) }
		if err := t.reg.KeepTelling(ctx, now, enqueue, told); err != nil || e.Member == 0 {
			return err
		}
		return t.reg.PauseReminders(ctx, e.Member, why, now)
	})
	if err != nil {
		return err
	}
	t.flights.forget(e.Key)
	t.figures.givenUp.Inc()
	log := t.log.With("kind", e.About, "coop", e.Coop, "day", e.Day, "key", e.Key)
	if _, ok := errors.AsType[Unreachable](cause); ok { // nothing failed, and the cause names the member
		log.Info("given up: who it is for cannot be reached")
	} else {
		log.Error("given up", "err", cause)
	}
	return nil
}

// reason gives a refusal's own words, and for what only the log can use that it kept failing.
func reason(cause error) string {
	if refusal, ok := errors.AsType[*fault.Error](cause); ok {
		return refusal.Text
	}
	return "The place it goes to kept failing."
}

// failure says that a notice could not be told.
func (t *teller) failure(ctx context.Context, f failed) (n Notice, some bool, err error) {
	n = Notice{Kind: string(Undelivered), Title: "A notice could not be delivered"}
	if f.Member == 0 {
		n.Text = "The group's notice of " + f.Day.Long() + " was not told, and is no longer tried. " + f.Why +
			"\n\nWhat it held is in /job due. /coop notices sets where notices go."
		n.Next = []Offer{{"How notices are set", "/coop notices"}}
		return n, true, nil
	}
	seat, err := t.reg.Seat(ctx, f.Member)
	if fault.KindOf(err) == fault.Missing {
		return n, false, nil
	}
	n.Text = "The reminder of " + f.Day.Long() + " for " + seat.Member.Name + " was not told, and no more are tried until " +
		"they set /grower reminders again. " + strings.TrimSpace(f.Why)
	return n, true, err
}
