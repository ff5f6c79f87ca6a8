package scheduler_test

import (
	"context"
	"database/sql"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

// trouble makes the register unfit to be written, and gives what ends that.
type trouble struct {
	name, says string
	begin      func(t *testing.T, s *stage) (end func())
}

func pragmas(begin, end string) func(t *testing.T, s *stage) func() {
	return func(t *testing.T, s *stage) func() {
		set := func(pragma string) {
			_, err := s.DB().ExecContext(context.Background(), pragma)
			require.NoError(t, err)
		}
		set(begin)
		return func() { set(end) }
	}
}

var troubles = []trouble{
	{"read only", "The register can be read but not written", pragmas(`PRAGMA query_only = 1`, `PRAGMA query_only = 0`)},
	{"disk full", "The disk that holds the register is full", pragmas(`PRAGMA max_page_count = 1`, `PRAGMA max_page_count = 1000000`)},
	{"locked", "Another program holds the register", func(t *testing.T, s *stage) func() {
		ctx := context.Background()
		_, err := s.DB().ExecContext(ctx, `PRAGMA busy_timeout = 20`)
		require.NoError(t, err)
		other, err := sql.Open("sqlite", "file:"+s.path+"?_txlock=exclusive")
		require.NoError(t, err)
		tx, err := other.BeginTx(ctx, nil)
		require.NoError(t, err)
		return func() {
			require.NoError(t, tx.Rollback())
			require.NoError(t, other.Close())
		}
	}},
}

// many co-ops are due at once in the tests of troubles: a file that may not grow still takes what fits its pages.
const many = 100

func (s *stage) many() {
	for n := range many {
		s.coop(fmt.Sprint("Mill ", n), "Europe/Dublin", "07:00")
	}
}

// once requires that each notice came once, and is kept.
func (s *stage) once() {
	s.t.Helper()
	require.Equal(s.t, many+1, s.begun)
	seen := map[string]bool{}
	for _, n := range s.told {
		require.False(s.t, seen[n.Key])
		seen[n.Key] = true
		told, err := s.Telling(context.Background(), n.Key)
		require.NoError(s.t, err)
		require.Equal(s.t, register.TellingKept, told.End)
	}
	require.Len(s.t, seen, many+1)
}

// A register that cannot be written when a notice is due ends in a clear line, and the notice goes once it can be.
func TestTroubleWhenItIsDue(t *testing.T) {
	t.Parallel()
	for _, tr := range troubles {
		t.Run(tr.name, func(t *testing.T) {
			atSix(t, func(t *testing.T, s *stage) {
				s.many()
				striking := s.start()
				time.Sleep(30 * time.Second)
				end := tr.begin(t, s)
				time.Sleep(2 * time.Minute)
				require.Empty(t, s.days())
				require.ErrorContains(t, striking.Health(t.Context()), tr.says)
				end()
				time.Sleep(time.Minute)
				require.NoError(t, striking.Health(t.Context()))
				require.NoError(t, striking.Stop())
				s.once()
			})
		})
	}
}

// A receipt that cannot be kept is kept later, and what it is of does not go a second time.
func TestTroubleBetweenSendingAndKeeping(t *testing.T) {
	t.Parallel()
	for _, tr := range troubles {
		t.Run(tr.name, func(t *testing.T) {
			atSix(t, func(t *testing.T, s *stage) {
				s.many()
				var begin sync.Once
				end := func() {}
				s.fail = func(context.Context, scheduler.Notice) error {
					begin.Do(func() { end = tr.begin(t, s) })
					return nil
				}
				striking := s.start()
				time.Sleep(2 * time.Minute)
				require.NotEmpty(t, s.days())
				end()
				time.Sleep(6 * time.Minute)
				require.NoError(t, striking.Stop())
				s.once()
			})
		})
	}
}

func TestStartOnWhatCannotBeWritten(t *testing.T) {
	t.Parallel()
	for _, tr := range troubles {
		t.Run(tr.name, func(t *testing.T) {
			atSix(t, func(t *testing.T, s *stage) {
				end := tr.begin(t, s)
				_, err := scheduler.Start(t.Context(), s.config())
				require.Equal(t, fault.Later, fault.KindOf(err))
				require.ErrorContains(t, err, tr.says)
				end()
				require.NoError(t, s.start().Stop())
			})
		})
	}
}
