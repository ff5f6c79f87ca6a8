package scheduler

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"github.com/gofrs/flock"
	"github.com/prometheus/client_golang/prometheus"

	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// Config is what striking works with.
type Config struct {
	Register *register.Register
	Adapter  register.Adapter // whose co-ops are struck: those whose notices go there
	Platform Platform
	Only     Only
	Show     func(Notice) error // with Only: what falls due to them and is told elsewhere; nil: nothing of it
	Compose  Composing
	Now      func() time.Time
	Moved    <-chan struct{} // tells that the clock was put forward; nil: it never is
	Log      *slog.Logger
}

// Striking strikes a register's hours and tells what is due, until it is stopped.
type Striking struct {
	reg     *register.Register
	striker *striker
	queue   *queue
	courier *courier
	glance  *glance // nil: nothing is shown
	lock    *flock.Flock
	figures *figures
	now     func() time.Time
	moved   <-chan struct{}
	log     *slog.Logger
	quit    context.CancelFunc
	over    sync.WaitGroup

	mu     sync.Mutex
	passed time.Time // when all that was due was struck last
	wrong  error     // why the last pass failed
}

// Start begins to strike. It is refused as Taken where another process strikes the register. What was under way when a
// process before this one died goes out at once; the platform is asked first whether it is there.
func Start(ctx context.Context, c Config) (*Striking, error) {
	s, err := prepare(ctx, c)
	if err != nil {
		return nil, err
	}
	running, quit := context.WithCancel(context.WithoutCancel(ctx))
	if err := s.queue.client.Start(running); err != nil {
		quit()
		return nil, errors.Join(register.Explain(err), s.lock.Unlock())
	}
	s.begin(running, quit)
	return s, nil
}

// prepare takes the lock, and takes up what the process before this one left.
func prepare(ctx context.Context, c Config) (s *Striking, err error) {
	if err := c.Register.Writable(ctx); err != nil {
		return nil, err
	}
	lock, err := takeLock(c.Register.Path())
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, lock.Unlock())
		}
	}()
	s = &Striking{reg: c.Register, lock: lock, figures: newFigures(), now: c.Now, moved: c.Moved, log: c.Log, passed: c.Now()}
	t := newTeller(c, s.figures)
	if t.restored, err = c.Register.Restored(ctx, c.Now()); err != nil {
		return nil, err
	}
	s.courier = &courier{teller: t}
	if s.queue, err = openQueue(ctx, c.Register.DB(), c.Now, c.Log, s.courier, backOff{c.Now}); err != nil {
		return nil, register.Explain(err)
	}
	t.put = s.queue.put
	s.striker = newStriker(c, t.zones, s.figures, s.queue.put)
	if c.Show != nil {
		s.glance = &glance{teller: t, show: c.Show, since: c.Now()}
	}
	if err := s.resume(ctx); err != nil {
		return nil, register.Explain(err)
	}
	s.pass(ctx) // before an old notice goes, a new one may say what it holds
	return s, nil
}

// begin strikes until quit is called.
func (s *Striking) begin(ctx context.Context, quit context.CancelFunc) {
	s.quit = quit
	s.over.Go(func() { s.run(ctx) })
}

func newTeller(c Config, f *figures) *teller {
	return &teller{reg: c.Register, adapter: c.Adapter, only: c.Only, platform: c.Platform, compose: c.Compose, zones: &zones{},
		now: c.Now, log: c.Log, figures: f}
}

func newStriker(c Config, z *zones, f *figures, put putting) *striker {
	return &striker{reg: c.Register, adapter: c.Adapter, only: c.Only, zones: z, log: c.Log, figures: f, put: put}
}

// resume takes up what the process before this one left. What was under way may have gone.
func (s *Striking) resume(ctx context.Context) error {
	left, err := s.queue.interrupted(ctx)
	if err != nil {
		return err
	}
	doubts := make([]register.Telling, len(left))
	for i, e := range left {
		doubts[i] = e.told()
		doubts[i].Doubt = true
	}
	if len(doubts) > 0 {
		if err := s.reg.KeepTelling(ctx, s.now(), nothing, doubts...); err != nil {
			return err
		}
	}
	return s.queue.putBack(ctx)
}

const (
	atLeastEvery = time.Minute // timers stop while a computer sleeps
	againAfter   = 10 * time.Second
	keptDone     = 24 * time.Hour
	keptTold     = 400 * 24 * time.Hour
)

// run strikes at each instant at which something is due, and looks at the clock at least every minute.
func (s *Striking) run(ctx context.Context) {
	var swept time.Time
	for ctx.Err() == nil {
		next := s.pass(ctx)
		if now := s.now(); now.Sub(swept) > time.Hour {
			s.sweep(ctx, now)
			swept = now
		}
		select {
		case <-ctx.Done():
		case <-s.moved:
		case <-time.After(max(next.Sub(s.now()), 50*time.Millisecond)):
		}
	}
}

// pass strikes what is due and gives when to look again.
func (s *Striking) pass(ctx context.Context) time.Time {
	now := s.now()
	next, err := s.striker.strike(ctx, now)
	s.note(now, err)
	if err != nil {
		return s.now().Add(againAfter)
	}
	if s.glance != nil {
		if err := s.glance.look(ctx, now); err != nil {
			s.log.Warn("what is told elsewhere cannot be shown", "err", err)
		}
	}
	if err := s.queue.putBackLost(ctx, s.courier.underWay); err != nil {
		s.note(now, err)
	}
	at := s.now().Add(atLeastEvery)
	waits, err := s.queue.wake(ctx)
	if err == nil && !waits.IsZero() && waits.Before(at) {
		at = waits
	}
	if !next.IsZero() && next.Before(at) {
		at = next
	}
	return at
}

// note keeps how a pass went. What is wrong is logged once, not at every pass.
func (s *Striking) note(now time.Time, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err = register.Explain(err); errors.Is(err, context.Canceled) {
		return
	}
	if err == nil {
		s.passed = now
	}
	if err != nil && (s.wrong == nil || fault.KindOf(err) != fault.KindOf(s.wrong)) {
		s.log.Error("nothing is struck", "err", err)
	}
	if err == nil && s.wrong != nil {
		s.log.Info("striking again")
	}
	s.wrong = err
}

func (s *Striking) sweep(ctx context.Context, now time.Time) {
	err := errors.Join(s.queue.sweep(ctx, now.Add(-keptDone)), s.reg.ForgetTellings(ctx, now, now.Add(-keptTold)))
	if err != nil && ctx.Err() == nil {
		s.log.Warn("what is done could not be swept", "err", err)
	}
}

// Health says what is wrong, if anything is: the register cannot be written, or nothing is struck when it should be.
func (s *Striking) Health(ctx context.Context) error {
	const behind = 3 * time.Minute
	s.mu.Lock()
	passed, wrong := s.passed, s.wrong
	s.mu.Unlock()
	if wrong != nil {
		return wrong
	}
	if s.now().Sub(passed) > behind {
		return fault.New(fault.Internal, "Nothing has been struck since %s.", passed.Format(time.RFC3339))
	}
	return s.reg.Writable(ctx)
}

// Figures gives what is counted, for Prometheus.
func (s *Striking) Figures() prometheus.Gatherer { return s.figures.registry }

// Stop ends striking within five seconds. What is under way and not finished by then is looked for at the next start.
func (s *Striking) Stop() error {
	ctx, cancel := context.WithTimeout(context.Background(), stopWithin+time.Second)
	defer cancel()
	s.quit()
	s.over.Wait()
	return errors.Join(s.queue.client.Stop(ctx), s.lock.Unlock())
}
