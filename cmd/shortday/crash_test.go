package main

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

var rounds = flag.Int("rounds", 0, "how often the program is killed while notices are due")

const eachRound = 10 // co-ops that fall due

// TestCrash starts the program, kills it at a random instant while notices are due, and starts it again: in the end
// each notice that was due is there once.
func TestCrash(t *testing.T) {
	if *rounds == 0 {
		t.Skip("-rounds says how often to kill the program")
	}
	t.Parallel()
	dir := t.TempDir()
	w := &crashing{t: t, db: filepath.Join(dir, "crash.db"), out: filepath.Join(dir, "out")}
	kills, under := 0, 0
	for round := range *rounds {
		w.makeDue(round, eachRound)
		run := w.start()
		after := 800 * time.Millisecond // while it starts, or soon after
		if rand.IntN(2) > 0 {
			run.await("watching")
			after = 150 * time.Millisecond // while it tells
		}
		time.Sleep(time.Duration(rand.Int64N(int64(after))))
		if w.due-w.there() > 5*eachRound { // most starts die before they have told all
			w.settle()
		}
		require.NoError(t, run.kill(syscall.SIGKILL))
		kills++
		if w.there() < w.due {
			under++
		}
	}
	run := w.start()
	w.settle()
	time.Sleep(2 * time.Second) // for what might go a second time
	begun := time.Now()
	require.NoError(t, run.kill(syscall.SIGTERM))
	require.Less(t, time.Since(begun), 5*time.Second)
	told := w.told()
	times := map[string]int{}
	for _, text := range told {
		name, _, ok := strings.Cut(text, ",")
		require.True(t, ok)
		require.NotContains(t, text, "Again, ")
		times[name]++
	}
	for round := range *rounds {
		for n := range eachRound {
			name := fmt.Sprintf("Quay %d-%d", round, n)
			require.Equal(t, 1, times[name], "%s was told so often; %d of %d notices are there", name, len(told), w.due)
		}
	}
	require.Len(t, told, w.due)
	t.Logf("%d kills, after %d of which something was still to be told; %d notices due, %d delivered", kills, under, w.due, len(told))
}

type crashing struct {
	t       *testing.T
	db, out string
	due     int
}

// makeDue begins co-ops that have been since yesterday, and have something to be told since a minute ago.
func (w *crashing) makeDue(round, coops int) {
	w.t.Helper()
	ctx := context.Background()
	reg, err := register.Open(ctx, w.db)
	require.NoError(w.t, err)
	defer func() { require.NoError(w.t, reg.Close()) }()
	struck := time.Now().UTC().Add(-time.Minute)
	begun := struck.AddDate(0, 0, -1).Add(30 * time.Second)
	err = reg.Together(ctx, func(ctx context.Context) error {
		for n := range coops {
			if err := w.coop(ctx, reg, fmt.Sprintf("Quay %d-%d", round, n), begun, struck.Format("15:04")); err != nil {
				return err
			}
		}
		return nil
	})
	require.NoError(w.t, err)
	w.due += coops
}

func (w *crashing) coop(ctx context.Context, reg *register.Register, name string, at time.Time, times string) error {
	seat, err := reg.Enter(ctx, register.Entry{CoopKey: variety.Fold(name), CoopName: name, Key: "nora", Name: "Nora", At: at})
	if err != nil {
		return err
	}
	by := register.Actor{Member: seat.Member.ID, At: at}
	if _, err := reg.SetMember(ctx, by, register.Metric, 0, place.Place{Point: place.Point{Lat: 52, Lon: 5}, Zone: "UTC", Exact: true}); err != nil {
		return err
	}
	v, err := reg.AddVariety(ctx, by, variety.Variety{Name: "Ember Late", Season: variety.Late, Response: 10})
	if err != nil {
		return err
	}
	if _, err := reg.SetTarget(ctx, by, v.ID, crop.Target{From: calendar.DayAt(at).Add(150)}, 40); err != nil {
		return err
	}
	set, err := reg.Notices(ctx, seat.Coop.ID)
	if err != nil {
		return err
	}
	set.Times = times
	return reg.SetNotices(ctx, by, set)
}

// settle waits until all that is due is there, at the longest for a minute.
func (w *crashing) settle() {
	for limit := time.Now().Add(time.Minute); w.there() < w.due && time.Now().Before(limit); {
		time.Sleep(50 * time.Millisecond)
	}
}

// there counts the notices that are there.
func (w *crashing) there() int {
	files, err := filepath.Glob(filepath.Join(w.out, "*.txt"))
	require.NoError(w.t, err)
	return len(files)
}

// told gives the text of each notice that is there.
func (w *crashing) told() (all []string) {
	files, err := filepath.Glob(filepath.Join(w.out, "*.txt"))
	require.NoError(w.t, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(w.t, err)
		all = append(all, string(text))
	}
	return all
}

// running is the program, with the lines of its log.
type running struct {
	t     *testing.T
	cmd   *exec.Cmd
	lines chan string
}

func (w *crashing) start(more ...string) *running {
	w.t.Helper()
	cmd := exec.Command("shortday", append([]string{"watch", "--db", w.db, "--to", w.out}, more...)...)
	log, err := cmd.StderrPipe()
	require.NoError(w.t, err)
	require.NoError(w.t, cmd.Start())
	r := &running{w.t, cmd, make(chan string, 1000)}
	go func() {
		defer close(r.lines)
		for scanner := bufio.NewScanner(log); scanner.Scan(); {
			r.lines <- scanner.Text()
		}
	}()
	return r
}

// await reads the log up to a line that has a word, and gives it.
func (r *running) await(word string) string {
	r.t.Helper()
	limit := time.After(20 * time.Second)
	for {
		select {
		case line, open := <-r.lines:
			require.True(r.t, open, "the program ended before it logged %q", word)
			if strings.Contains(line, word) {
				return line
			}
		case <-limit:
			require.Fail(r.t, "the program never logged "+word)
		}
	}
}

// kill ends the program by a signal; nil where it ended by that one, or for SIGTERM without a fault.
func (r *running) kill(signal syscall.Signal) error {
	if err := r.cmd.Process.Signal(signal); err != nil {
		return err
	}
	for range r.lines {
	}
	err := r.cmd.Wait()
	if status, ok := r.cmd.ProcessState.Sys().(syscall.WaitStatus); ok && signal == syscall.SIGKILL && status.Signal() == signal {
		return nil
	}
	return err
}
