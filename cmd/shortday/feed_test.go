package main

import (
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/knowledge/register"
)

func TestFeedAddresses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ feed, url, base, says string }{
		{"", "", "", ""},
		{"127.0.0.1:8470", "", "http://127.0.0.1:8470", ""},
		{"[::1]:8470", "https://dates.example.org/cal/", "https://dates.example.org/cal", ""},
		{"localhost:8470", "", "http://localhost:8470", ""},
		{"0.0.0.0:8470", "", "", "no address of this machine alone"},
		{":8470", "", "", "no address of this machine alone"},
		{"127.0.0.1", "", "", "no address of this machine alone"},
		{"127.0.0.1:8470", "ftp://dates.example.org", "", "can subscribe"},
		{"", "https://dates.example.org", "", "--feed has to say"},
	} {
		base, err := feed{c.feed, c.url}.base()
		require.Equal(t, c.base, base, c)
		if c.says != "" {
			require.ErrorContains(t, err, c.says)
		} else {
			require.NoError(t, err)
		}
	}
}

func TestFeedServes(t *testing.T) {
	t.Parallel()
	reg, err := register.Open(t.Context(), filepath.Join(t.TempDir(), "shortday.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	desk := requests.NewDesk(reg, slog.New(slog.DiscardHandler))
	say := func(request string) {
		reply := desk.AnswerLine(t.Context(), bot.Ask{Who: party("Oona"), Coop: party("Tallow Lane"), At: time.Date(2027, 1, 10, 9, 0, 0, 0, time.UTC)}, request)
		require.Nil(t, reply.Refusal, "%s: %v", request, reply.Refusal)
	}
	say("/variety add name:Saltmarsh like:\"late spray\" protection:free")
	say("/stock add variety:Saltmarsh count:12 since:2026-11-20")

	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address := free.Addr().String()
	require.NoError(t, free.Close())
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	var slow atomic.Bool
	asked, release := make(chan struct{}, 1), make(chan struct{})
	p := &program{Context: ctx, log: slog.New(slog.DiscardHandler), now: func() time.Time {
		if slow.Load() {
			asked <- struct{}{}
			<-release
		}
		return time.Now()
	}}
	go func() { done <- feed{Feed: address}.run(ctx, p, reg) }()
	require.Eventually(t, func() bool {
		base, err := reg.FeedBase(t.Context())
		return err == nil && base == "http://"+address
	}, 5*time.Second, 5*time.Millisecond)
	say("/plan calendar address:show")
	token, err := reg.Feed(t.Context(), 1)
	require.NoError(t, err)
	get := func(path string) (int, string) {
		var answer *http.Response
		require.Eventually(t, func() bool {
			answer, err = http.Get("http://" + address + path)
			return err == nil
		}, 5*time.Second, 10*time.Millisecond)
		defer func() { _ = answer.Body.Close() }()
		body, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		return answer.StatusCode, string(body)
	}
	status, body := get("/" + token + ".ics")
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, body, "BEGIN:VEVENT")
	status, _ = get("/wrong.ics")
	require.Equal(t, http.StatusNotFound, status)
	slow.Store(true)
	last := make(chan int, 1)
	go func() {
		answer, err := http.Get("http://" + address + "/" + token + ".ics")
		if err != nil {
			last <- 0
			return
		}
		_ = answer.Body.Close()
		last <- answer.StatusCode
	}()
	<-asked
	stop()
	select {
	case <-done:
		require.Fail(t, "it ended, and the register with it, while a calendar was being read")
	case <-time.After(200 * time.Millisecond):
	}
	close(release)
	require.Equal(t, http.StatusOK, <-last)
	require.NoError(t, <-done)
	require.NoError(t, feed{}.run(t.Context(), p, reg))
	base, err := reg.FeedBase(t.Context())
	require.NoError(t, err)
	require.Empty(t, base, "a program that serves none says so")
}
