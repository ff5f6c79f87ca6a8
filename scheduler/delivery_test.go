package scheduler_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

// atSix begins a bubble a minute before seven in Dublin, with one co-op that is told at seven.
func atSix(t *testing.T, play func(t *testing.T, s *stage)) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		time.Sleep(time.Until(instant(t, "2027-03-26T12:00:00Z")))
		s := newStage(t, time.Now)
		s.coop("Quay", "Europe/Dublin", "07:00")
		s.until("2027-03-27T06:59:00Z")
		play(t, s)
	})
}

func TestANoticeComesAtItsHour(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		striking := s.start()
		time.Sleep(59 * time.Second)
		require.Empty(t, s.days())
		time.Sleep(4 * time.Second)
		require.Equal(t, []string{"Quay 2027-03-27"}, s.days())
		require.Equal(t, "2027-03-27, missed []", s.told[0].Text)
		require.NoError(t, striking.Health(t.Context()))
		require.NoError(t, striking.Stop())
	})
}

func TestAClockIsPutForward(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		var ahead atomic.Int64
		moved := make(chan struct{})
		s.now = func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }
		c := s.config()
		c.Moved = moved
		striking, err := scheduler.Start(context.Background(), c)
		require.NoError(t, err)
		time.Sleep(time.Second)
		ahead.Store(int64(3 * 24 * time.Hour))
		time.Sleep(10 * time.Second)
		require.Empty(t, s.days())
		moved <- struct{}{}
		time.Sleep(4 * time.Second)
		require.Equal(t, []string{"Quay 2027-03-30"}, s.days(), "the three before it are missed and go with it")
		require.NoError(t, striking.Stop())
	})
}

func TestADelivererThatFails(t *testing.T) {
	t.Parallel()
	for _, times := range []int{1, 3, 50} {
		t.Run(fmt.Sprint(times), func(t *testing.T) {
			if raced && times > 3 {
				t.Skip("without the race detector")
			}
			atSix(t, func(t *testing.T, s *stage) {
				var at []time.Time
				s.fail = func(context.Context, scheduler.Notice) error {
					if at = append(at, time.Now()); len(at) <= times {
						return errors.New("the platform is down")
					}
					return nil
				}
				striking := s.start()
				for len(s.days()) == 0 && time.Now().Before(instant(t, "2027-03-27T12:00:00Z")) {
					time.Sleep(time.Minute)
				}
				require.NoError(t, striking.Stop())
				require.Equal(t, []string{"Quay 2027-03-27"}, s.days())
				require.Len(t, at, times+1)
				for i := range times {
					require.LessOrEqual(t, at[i+1].Sub(at[i]), 5*time.Minute+5*time.Second)
				}
			})
		})
	}
}

// A deliverer that hangs, and pays no heed to its context, keeps nobody else from being told, and is not asked a second
// time while it hangs.
func TestADelivererThatHangs(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		s.coop("Mill", "Europe/Dublin", "07:00")
		release := make(chan struct{})
		s.fail = func(_ context.Context, n scheduler.Notice) error {
			if n.Coop.Name == "Quay" {
				<-release
			}
			return nil
		}
		striking := s.start()
		time.Sleep(5 * time.Minute)
		require.Equal(t, []string{"Mill 2027-03-27"}, s.days())
		close(release)
		time.Sleep(6 * time.Minute)
		require.NoError(t, striking.Stop())
		require.Equal(t, []string{"Mill 2027-03-27", "Quay 2027-03-27"}, s.days())
		require.Equal(t, 2, s.begun)
	})
}

// What hung when the process was stopped may have gone: the next one asks the platform, and where that cannot know it
// says "again".
func TestStoppedWhileUnderWay(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		finds, went bool
		told        int
		again       bool
	}{
		"it went, and can be found":            {finds: true, went: true, told: 1},
		"it did not go, and can be looked for": {finds: true, told: 1},
		"it went, and nobody can tell":         {went: true, told: 2, again: true},
		"it did not go, and nobody can tell":   {told: 1, again: true},
	} {
		t.Run(name, func(t *testing.T) {
			atSix(t, func(t *testing.T, s *stage) {
				s.finds = tt.finds
				s.fail = func(ctx context.Context, n scheduler.Notice) error {
					if tt.went {
						s.mu.Lock()
						s.told = append(s.told, n)
						s.mu.Unlock()
					}
					<-ctx.Done()
					return ctx.Err()
				}
				striking := s.start()
				time.Sleep(65 * time.Second)
				before := time.Now()
				require.NoError(t, striking.Stop())
				require.LessOrEqual(t, time.Since(before), 5*time.Second)
				s.fail = nil
				striking = s.start()
				time.Sleep(time.Minute)
				require.NoError(t, striking.Stop())
				require.Len(t, s.told, tt.told)
				last := s.told[len(s.told)-1]
				require.Equal(t, tt.again, last.Again)
				require.Equal(t, tt.again, strings.HasPrefix(last.Text, "Again, "), last.Text)
			})
		})
	}
}

// A process that dies leaves its jobs running: the next one puts them back at once.
func TestLeftRunning(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		striking, err := scheduler.StartEnqueuing(t.Context(), s.config())
		require.NoError(t, err)
		time.Sleep(65 * time.Second)
		require.NoError(t, striking.Stop())
		done, err := s.DB().ExecContext(t.Context(), `UPDATE river_job SET state = 'running', attempt = 1`)
		require.NoError(t, err)
		n, err := done.RowsAffected()
		require.NoError(t, err)
		require.EqualValues(t, 1, n)
		striking = s.start()
		time.Sleep(10 * time.Second)
		require.NoError(t, striking.Stop())
		require.Equal(t, []string{"Quay 2027-03-27"}, s.days())
		require.True(t, s.told[0].Again)
	})
}

func TestOneProcessStrikes(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		first := s.start()
		_, err := scheduler.Start(t.Context(), s.config())
		require.Equal(t, fault.Taken, fault.KindOf(err))
		require.ErrorContains(t, err, "Another Shortday sends the notices of "+s.path+" already.")
		require.NoError(t, first.Stop())
		second := s.start()
		require.NoError(t, second.Stop())
	})
}

func TestAClockBehindTheRegister(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		var behind atomic.Int64
		behind.Store(int64(200 * 24 * time.Hour))
		c := s.config()
		c.Now = func() time.Time { return time.Now().Add(-time.Duration(behind.Load())) }
		striking, err := scheduler.Start(t.Context(), c)
		require.NoError(t, err)
		time.Sleep(2 * time.Minute)
		require.Empty(t, s.days())
		require.ErrorContains(t, striking.Health(t.Context()), "No notice goes out until the clock is set right.")
		behind.Store(0)
		time.Sleep(time.Minute)
		require.Equal(t, []string{"Quay 2027-03-27"}, s.days())
		require.NoError(t, striking.Health(t.Context()))
		require.NoError(t, striking.Stop())
	})
}

// A backup that is put back knows nothing of what was told since it was made: that is looked for before it is sent.
func TestAfterARestore(t *testing.T) {
	t.Parallel()
	for name, finds := range map[string]bool{"looked for": true, "nobody can tell": false} {
		t.Run(name, func(t *testing.T) {
			atSix(t, func(t *testing.T, s *stage) {
				s.finds = finds
				copied := filepath.Join(t.TempDir(), "copy.db")
				require.NoError(t, s.Backup(t.Context(), copied))
				striking := s.start()
				time.Sleep(65 * time.Second)
				require.NoError(t, striking.Stop())
				require.Len(t, s.told, 1)
				require.NoError(t, s.Close())
				_, err := register.Restore(t.Context(), copied, s.path)
				require.NoError(t, err)
				s.open()
				striking = s.start()
				time.Sleep(time.Minute)
				require.NoError(t, striking.Stop())
				if finds {
					require.Len(t, s.told, 1)
				} else {
					require.Len(t, s.told, 2)
					require.True(t, s.told[1].Again)
				}
				s.until("2027-03-28T05:59:30Z")
				striking = s.start()
				time.Sleep(time.Minute)
				require.NoError(t, striking.Stop())
				last := s.told[len(s.told)-1]
				require.Equal(t, "2027-03-28", last.Day.String())
				require.False(t, last.Again, "what is due after the restore is in no doubt")
			})
		})
	}
}

// What was not told for days comes as one, and one that goes on a later day says which it is of.
func TestAfterDowntime(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		down := true
		s.fail = func(context.Context, scheduler.Notice) error {
			if down {
				return errors.New("the platform is down")
			}
			return nil
		}
		striking := s.start()
		time.Sleep(2 * time.Minute)
		require.NoError(t, striking.Stop())
		s.until("2027-03-28T02:00:00Z")
		down = false
		striking = s.start()
		time.Sleep(time.Minute)
		require.NoError(t, striking.Stop())
		require.Equal(t, "This is of Sat 27 Mar 2027 and comes late.\n\n2027-03-27, missed []", s.told[0].Text)

		down = true
		s.until("2027-03-28T05:59:30Z")
		striking = s.start()
		time.Sleep(time.Minute)
		require.NoError(t, striking.Stop())
		s.until("2027-04-27T12:00:00Z")
		down = false
		striking = s.start()
		time.Sleep(time.Minute)
		require.NoError(t, striking.Stop())
		require.Len(t, s.told, 2, "a month asleep comes as one")
		require.Equal(t, "2027-04-27", s.told[1].Day.String())
		require.True(t, strings.HasPrefix(s.told[1].Text, "2027-04-27, missed [2027-03-28 2027-03-29 "), s.told[1].Text)
	})
}

// A place that is gone is tried for some hours; then the steward is told, once.
func TestAPlaceThatIsGone(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		s.fail = func(_ context.Context, n scheduler.Notice) error {
			if n.Member.Key == "" {
				return fault.New(fault.Missing, "The channel #notices is gone.")
			}
			return nil
		}
		play := scheduler.NewPlay(s.config())
		require.NoError(t, play.To(t.Context(), time.Now()))
		require.NoError(t, play.To(t.Context(), instant(t, "2027-03-30T12:00:00Z")))
		require.Len(t, s.told, 1)
		require.Equal(t, "Nora", s.told[0].Member.Name)
		require.Equal(t, "The group's notice of Sat 27 Mar 2027 was not told, and is no longer tried. The channel #notices is gone."+
			"\n\nWhat it held is in /job due. /coop notices sets where notices go.", s.told[0].Text)
		s.fail = nil
		require.NoError(t, play.To(t.Context(), instant(t, "2027-03-31T12:00:00Z")))
		require.Equal(t, "2027-03-31, missed [2027-03-27 2027-03-28 2027-03-29 2027-03-30]", s.told[1].Text)
	})
}

// Nothing is told for good by a platform that is not the co-op's.
func TestAnotherPlatformLeavesItAlone(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		c := s.config()
		c.Adapter = register.Discord
		striking, err := scheduler.Start(t.Context(), c)
		require.NoError(t, err)
		time.Sleep(2 * time.Minute)
		require.NoError(t, striking.Stop())
		require.Zero(t, s.begun)
		c = s.config()
		c.Only = scheduler.Only{Coop: "mill", Member: "nora"}
		striking, err = scheduler.Start(t.Context(), c)
		require.NoError(t, err)
		time.Sleep(2 * time.Minute)
		require.NoError(t, striking.Stop())
		require.Zero(t, s.begun)
		striking = s.start()
		time.Sleep(time.Minute)
		require.NoError(t, striking.Stop())
		require.Equal(t, []string{"Quay 2027-03-27"}, s.days())
	})
}

// What is told elsewhere may be shown, and is still told there.
func TestShownAndNotTold(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		seat, err := s.Find(t.Context(), "Quay", "nora")
		require.NoError(t, err)
		set, err := s.Notices(t.Context(), seat.Coop.ID)
		require.NoError(t, err)
		set.Adapter, set.Place = register.Discord, "77"
		require.NoError(t, s.SetNotices(t.Context(), register.Actor{Member: seat.Member.ID, At: time.Now()}, set))
		var shown []scheduler.Notice
		c := s.config()
		c.Only = scheduler.Only{Coop: "Quay", Member: "nora"}
		c.Show = func(n scheduler.Notice) error { shown = append(shown, n); return nil }
		striking, err := scheduler.Start(t.Context(), c)
		require.NoError(t, err)
		time.Sleep(5 * time.Minute)
		require.NoError(t, striking.Stop())
		require.Len(t, shown, 1)
		require.Equal(t, "2027-03-27", shown[0].Day.String())
		require.Zero(t, s.begun)
		c = s.config()
		c.Adapter = register.Discord
		striking, err = scheduler.Start(t.Context(), c)
		require.NoError(t, err)
		time.Sleep(time.Minute)
		require.NoError(t, striking.Stop())
		require.Equal(t, []string{"Quay 2027-03-27"}, s.days())
		require.Equal(t, "77", s.told[0].Place)
	})
}

// Who cannot be told is named in no line of the log: nothing failed that its reader could mend.
func TestALogNamesNoMember(t *testing.T) {
	atSix(t, func(t *testing.T, s *stage) {
		var lines strings.Builder
		s.log = slog.New(slog.NewTextHandler(&lines, nil))
		s.fail = func(context.Context, scheduler.Notice) error {
			return scheduler.Unreachable("Wilhelmina has left the server.")
		}
		striking := s.start()
		time.Sleep(2 * time.Minute)
		require.NoError(t, striking.Stop())
		require.Contains(t, lines.String(), "given up: who it is for cannot be reached")
		require.NotContains(t, lines.String(), "Wilhelmina")
	})
}
