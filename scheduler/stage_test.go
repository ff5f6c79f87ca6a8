package scheduler_test

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/register"
	"shortday/scheduler"
)

// stage is a register with a platform that keeps what it is told, and a composer that always has something to say.
type stage struct {
	*register.Register
	t    testing.TB
	path string
	now  func() time.Time
	log  *slog.Logger

	mu     sync.Mutex
	told   []scheduler.Notice
	fail   func(ctx context.Context, n scheduler.Notice) error // before it is told
	finds  bool
	silent bool
	begun  int
}

func newStage(t testing.TB, now func() time.Time) *stage {
	s := &stage{t: t, path: filepath.Join(t.TempDir(), "shortday.db"), now: now, log: slog.New(slog.DiscardHandler)}
	s.open()
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func (s *stage) open() {
	s.t.Helper()
	reg, err := register.Open(context.Background(), s.path)
	require.NoError(s.t, err)
	s.Register = reg
}

// coop begins a co-op whose group is told at times of a zone.
func (s *stage) coop(name, zone, times string) register.Seat {
	s.t.Helper()
	ctx := context.Background()
	seat, err := s.Enter(ctx, register.Entry{CoopKey: name, CoopName: name, Key: "nora", Name: "Nora", At: s.now()})
	require.NoError(s.t, err)
	by := register.Actor{Member: seat.Member.ID, At: s.now()}
	seat.Coop.Place.Zone = zone
	_, err = s.Setup(ctx, by, seat.Coop)
	require.NoError(s.t, err)
	set, err := s.Notices(ctx, seat.Coop.ID)
	require.NoError(s.t, err)
	set.Times = times
	require.NoError(s.t, s.SetNotices(ctx, by, set))
	return seat
}

func (s *stage) config() scheduler.Config {
	c := scheduler.Config{Register: s.Register, Adapter: register.Terminal, Compose: s.compose, Now: s.now, Log: s.log,
		Platform: scheduler.Platform{Deliver: s.deliver}}
	if s.finds {
		c.Platform.Find = s.find
	}
	return c
}

func (s *stage) start() *scheduler.Striking {
	s.t.Helper()
	striking, err := scheduler.Start(context.Background(), s.config())
	require.NoError(s.t, err)
	return striking
}

func (s *stage) compose(_ context.Context, _ *register.Register, about scheduler.Subject, _ time.Time) (scheduler.Notice, bool, error) {
	return scheduler.Notice{Title: string(about.Kind), Text: fmt.Sprintf("%s, missed %v", about.Day, about.Missed)}, !s.silent, nil
}

func (s *stage) deliver(ctx context.Context, n scheduler.Notice) (scheduler.Receipt, error) {
	s.mu.Lock()
	s.begun++
	fail := s.fail
	s.mu.Unlock()
	if fail != nil {
		if err := fail(ctx, n); err != nil {
			return "", err
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.told = append(s.told, n)
	return scheduler.Receipt(fmt.Sprint("message ", len(s.told))), nil
}

func (s *stage) find(_ context.Context, n scheduler.Notice) (scheduler.Receipt, bool, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for i, there := range s.told {
		if there.Key == n.Key {
			return scheduler.Receipt(fmt.Sprint("message ", i+1)), true, nil
		}
	}
	return "", false, nil
}

// days gives what was told, in order, as "coop day".
func (s *stage) days() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	var all []string
	for _, n := range s.told {
		all = append(all, n.Coop.Name+" "+n.Day.String())
	}
	return all
}

// until lets time pass in a bubble.
func (s *stage) until(at string) {
	s.t.Helper()
	time.Sleep(instant(s.t, at).Sub(s.now()))
}
