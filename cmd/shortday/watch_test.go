package main

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/register"
)

// One process strikes a register. Beside it a conversation works without, a second one leaves, and all else works.
func TestWatchBesideOthers(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	w := &crashing{t: t, db: filepath.Join(dir, "watch.db"), out: filepath.Join(dir, "out")}
	w.makeDue(0, 2)
	run := w.start()
	run.await("watching")

	second, err := exec.Command("shortday", "watch", "--db", w.db).CombinedOutput()
	require.Error(t, err)
	require.Contains(t, string(second), "Another Shortday sends the notices of "+w.db+" already. Stop that one first, or leave it to it.")
	talk := exec.Command("shortday", "talk", "--db", w.db)
	talk.Stdin = strings.NewReader("/help help\n")
	said, err := talk.CombinedOutput()
	require.NoError(t, err)
	require.Contains(t, string(said), "Another Shortday sends the notices of this register, so none are shown here. All else works as ever.")
	require.Contains(t, string(said), "What can be asked")
	for _, args := range [][]string{{"ask", "--db", w.db, "/help"}, {"ask", "--db", w.db, "--coop", "Quay 0-1", "--as", "Nora", "/grower export"}, {"backup", "--db", w.db, filepath.Join(dir, "copy.db")}} {
		said, err := exec.Command("shortday", args...).CombinedOutput()
		require.NoError(t, err, "%s", said)
	}
	at, err := exec.Command("shortday", "watch", "--db", w.db, "--at", "2027-03-01").CombinedOutput()
	require.Error(t, err)
	require.Contains(t, string(at), "Notices go out by the real clock.")

	require.Eventually(t, func() bool { return len(w.told()) == 2 }, 20*time.Second, 50*time.Millisecond)
	begun := time.Now()
	require.NoError(t, run.kill(syscall.SIGTERM))
	require.Less(t, time.Since(begun), 5*time.Second)
}

// A conversation tells its own co-op, and tells it to no one else.
func TestTalkTells(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	w := &crashing{t: t, db: filepath.Join(dir, "talk.db")}
	w.makeDue(0, 2)
	talk := exec.Command("shortday", "talk", "--db", w.db, "--coop", "Quay 0-1", "--as", "Nora")
	in, err := talk.StdinPipe()
	require.NoError(t, err)
	out, err := talk.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, talk.Start())
	told := make(chan string)
	go func() {
		text := make([]byte, 0, 1<<16)
		for !strings.Contains(string(text), "/job due") {
			n, err := out.Read(text[len(text):cap(text)])
			if text = text[:len(text)+n]; err != nil {
				break
			}
		}
		told <- string(text)
		_, _ = io.Copy(io.Discard, out) // till it ends
	}()
	select {
	case text := <-told:
		require.Contains(t, text, "Quay 0-1")
		require.NotContains(t, text, "Quay 0-0")
	case <-time.After(20 * time.Second):
		require.Fail(t, "nothing was told")
	}
	require.NoError(t, in.Close())
	require.NoError(t, talk.Wait())
}

func TestMetrics(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	w := &crashing{t: t, db: filepath.Join(dir, "figures.db"), out: filepath.Join(dir, "out")}
	w.makeDue(0, 3)
	run := w.start("--metrics", "127.0.0.1:0", "--log", "json")
	var served struct{ At string }
	require.NoError(t, json.Unmarshal([]byte(run.await("figures are served")), &served))
	get := func(path string) (int, string) {
		answer, err := http.Get("http://" + served.At + path)
		require.NoError(t, err)
		defer func() { _ = answer.Body.Close() }()
		body, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		return answer.StatusCode, string(body)
	}
	require.Eventually(t, func() bool {
		_, figures := get("/metrics")
		return strings.Contains(figures, "\nshortday_notices_due_total 3\n") && strings.Contains(figures, "\nshortday_notices_sent_total 3\n")
	}, 20*time.Second, 50*time.Millisecond)
	require.Contains(t, run.await(`"msg":"told"`), `"kind":"notice"`)
	status, text := get("/healthz")
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, "All is well.\n", text)

	said, err := exec.Command("shortday", "ask", "--db", w.db, "--at", "2099-01-01", "--coop", "Quay 0-1", "--as", "Nora", "/coop setup units:us").CombinedOutput()
	require.NoError(t, err, "%s", said)
	open := (&crashing{t: t, db: filepath.Join(dir, "open.db"), out: filepath.Join(dir, "open")}).start("--metrics", "0.0.0.0:0", "--log", "json")
	require.Contains(t, open.await("figures are served"), `"level":"WARN"`, "it is said that others can read them")
	require.NoError(t, open.kill(syscall.SIGTERM))
	own := (&crashing{t: t, db: filepath.Join(dir, "own.db"), out: filepath.Join(dir, "own")}).start("--metrics", ":0", "--log", "json")
	require.Contains(t, own.await("figures are served"), `"at":"127.0.0.1:`, "a port alone is one of this machine alone")
	require.NoError(t, own.kill(syscall.SIGTERM))
	taken, err := exec.Command("shortday", "watch", "--db", filepath.Join(dir, "other.db"), "--metrics", served.At).CombinedOutput()
	require.Error(t, err)
	require.Contains(t, string(taken), "Figures cannot be served at "+served.At+".")
	require.NoError(t, run.kill(syscall.SIGTERM))

	again := func() (int, string) {
		run = w.start("--metrics", "127.0.0.1:0", "--log", "json")
		require.NoError(t, json.Unmarshal([]byte(run.await("figures are served")), &served))
		return get("/healthz")
	}
	status, text = again()
	require.Equal(t, http.StatusOK, status, "a day that was played strikes nothing and silences nothing: %s", text)
	require.NoError(t, run.kill(syscall.SIGTERM))
	reg, err := register.Open(t.Context(), w.db)
	require.NoError(t, err)
	_, err = reg.Forget(t.Context(), time.Date(2099, 1, 1, 0, 0, 0, 0, time.UTC))
	require.NoError(t, errors.Join(err, reg.Close()))
	status, text = again()
	require.Equal(t, http.StatusServiceUnavailable, status)
	require.Contains(t, text, "No notice goes out until the clock is set right.")
	require.NoError(t, run.kill(syscall.SIGTERM))
}
