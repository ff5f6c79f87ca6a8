package ical

import (
	"context"
	"log/slog"
	"net/http"
	"strings"
)

// Feed serves calendars by GET /WORD.ics. Find gives the calendar that a word opens, false where it opens none; whoever
// asks by another word learns nothing, not even whether there are any. Words are never logged.
func Feed(find func(ctx context.Context, word string) (data []byte, found bool, err error), log *slog.Logger) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{file}", func(w http.ResponseWriter, r *http.Request) {
		word, ok := strings.CutSuffix(r.PathValue("file"), ".ics")
		if !ok || word == "" {
			http.NotFound(w, r)
			return
		}
		data, found, err := find(r.Context(), word)
		switch {
		case err != nil:
			log.ErrorContext(r.Context(), "a calendar failed", "err", err)
			http.Error(w, "The calendar cannot be read now. Try again later.", http.StatusServiceUnavailable)
		case !found:
			http.NotFound(w, r)
		default:
			h := w.Header()
			h.Set("Content-Type", Type+"; charset=utf-8")
			h.Set("Content-Disposition", `inline; filename="shortday.ics"`)
			h.Set("Cache-Control", "private, max-age=900")
			h.Set("X-Content-Type-Options", "nosniff")
			h.Set("X-Robots-Tag", "noindex")
			_, _ = w.Write(data) // a reader who left needs no answer
		}
	})
	return mux
}
