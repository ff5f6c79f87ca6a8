package discord

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
)

// veil is a log handler that blots out the token wherever it might come up.
type veil struct {
	slog.Handler
	token string
}

// Handle blots out the token in the message and in every value.
func (v veil) Handle(ctx context.Context, r slog.Record) error {
	clean := slog.NewRecord(r.Time, r.Level, v.text(r.Message), r.PC)
	r.Attrs(func(a slog.Attr) bool {
		clean.AddAttrs(v.attr(a))
		return true
	})
	return v.Handler.Handle(ctx, clean)
}

// WithAttrs keeps the veil.
func (v veil) WithAttrs(attrs []slog.Attr) slog.Handler {
	for i := range attrs {
		attrs[i] = v.attr(attrs[i])
	}
	return veil{v.Handler.WithAttrs(attrs), v.token}
}

// WithGroup keeps the veil.
func (v veil) WithGroup(name string) slog.Handler { return veil{v.Handler.WithGroup(name), v.token} }

func (v veil) attr(a slog.Attr) slog.Attr {
	switch a.Value.Kind() {
	case slog.KindString:
		return slog.String(a.Key, v.text(a.Value.String()))
	case slog.KindAny, slog.KindLogValuer:
		return slog.String(a.Key, v.text(fmt.Sprint(a.Value.Resolve().Any())))
	}
	return a
}

func (v veil) text(s string) string { return strings.ReplaceAll(s, v.token, "[token]") }
