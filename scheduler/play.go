package scheduler

import (
	"context"
	"database/sql"
	"errors"
	"log/slog"
	"slices"
	"time"
)

// Play strikes and tells by a time of its own, which is moved on by hand: what is shown is told the same way as what is
// told for good. Errands wait in memory.
type Play struct {
	striker *striker
	teller  *teller
	at      time.Time
	waiting []waiting // in no order
}

type waiting struct {
	errand
	until time.Time
}

// NewPlay begins to play on a register that nothing else strikes. Now and Log of the Config may be left out.
func NewPlay(c Config) *Play {
	p := &Play{}
	c.Now = func() time.Time { return p.at }
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	figures := newFigures()
	p.teller = newTeller(c, figures)
	p.teller.put = p.put
	p.striker = newStriker(c, p.teller.zones, figures, p.put)
	return p
}

// To moves the time on to an instant. What falls due until then is told at its own instant, in order.
func (p *Play) To(ctx context.Context, at time.Time) error {
	last, err := p.teller.reg.LastInstant(ctx)
	if err != nil {
		return err
	}
	if p.at = latest(p.at, last); p.at.IsZero() { // members in the east and west record by their own clocks
		p.at = at
	}
	for { // first of all where it stood: settings may have changed since
		next, err := p.step(ctx)
		if err != nil {
			return err
		}
		for _, w := range p.waiting {
			if next.IsZero() || w.until.Before(next) {
				next = w.until
			}
		}
		if !p.at.Before(at) {
			return nil
		}
		if p.at = at; !next.IsZero() && next.Before(at) {
			p.at = next
		}
	}
}

// step strikes and tells what is due at the time that it is.
func (p *Play) step(ctx context.Context) (next time.Time, err error) {
	if next, err = p.striker.strike(ctx, p.at); err != nil {
		return next, err
	}
	for {
		i := slices.IndexFunc(p.waiting, func(w waiting) bool { return !w.until.After(p.at) })
		if i < 0 {
			return next, nil
		}
		w := p.waiting[i]
		p.waiting = slices.Delete(p.waiting, i, i+1)
		again, err := again(p.teller.tell(ctx, w.errand))
		if err != nil {
			return next, err
		}
		if again > 0 {
			p.waiting = append(p.waiting, waiting{w.errand, p.at.Add(again)})
		}
	}
}

// again gives how long an errand waits for its next attempt; 0 where it is done.
func again(err error) (time.Duration, error) {
	if later, ok := errors.AsType[wait](err); ok {
		return time.Duration(later), nil
	}
	if _, ok := errors.AsType[untold](err); ok {
		return longestOnDay, nil
	}
	return 0, err
}

func (p *Play) put(_ context.Context, _ *sql.Tx, errands ...errand) error {
	for _, e := range errands {
		p.waiting = append(p.waiting, waiting{e, p.at})
	}
	return nil
}
