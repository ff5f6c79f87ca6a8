package register

import "context"

type playedKey struct{}

// Played gives a context for deeds by another clock than the real one: they leave LastInstant as it is, so that a day
// played ahead keeps no notice from going out by the real clock.
func Played(ctx context.Context) context.Context { return context.WithValue(ctx, playedKey{}, true) }

func played(ctx context.Context) bool { return ctx.Value(playedKey{}) != nil }
