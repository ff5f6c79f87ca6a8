package ical_test

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot/ical"
)

func TestFeed(t *testing.T) {
	t.Parallel()
	var logged strings.Builder
	find := func(_ context.Context, word string) ([]byte, bool, error) {
		if word == "BROKEN" {
			return nil, false, errors.New("the disk is gone")
		}
		return []byte("BEGIN:VCALENDAR\r\n"), word == "OPEN", nil
	}
	feed := ical.Feed(find, slog.New(slog.NewTextHandler(&logged, nil)))
	for _, c := range []struct {
		method, path string
		status       int
	}{
		{"GET", "/OPEN.ics", 200}, {"HEAD", "/OPEN.ics", 200}, {"GET", "/OPEN", 404}, {"GET", "/SHUT.ics", 404}, {"GET", "/", 404},
		{"GET", "/.ics", 404}, {"GET", "/a/OPEN.ics", 404}, {"GET", "/BROKEN.ics", 503}, {"POST", "/OPEN.ics", 405}, {"DELETE", "/OPEN.ics", 405},
	} {
		answer := httptest.NewRecorder()
		feed.ServeHTTP(answer, httptest.NewRequestWithContext(t.Context(), c.method, c.path, nil))
		require.Equal(t, c.status, answer.Code, c.method+" "+c.path)
		if c.status == http.StatusOK {
			require.Equal(t, "text/calendar; charset=utf-8", answer.Header().Get("Content-Type"))
			require.Contains(t, answer.Header().Get("Cache-Control"), "private")
		}
	}
	require.Contains(t, logged.String(), "the disk is gone")
	require.NotContains(t, logged.String(), "BROKEN", "a word opens a calendar, so it is not for the log")
}
