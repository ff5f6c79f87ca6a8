package discord

import "shortday/knowledge/calendar"

// Shown writes a text as a card shows it, with the instants that it names.
func Shown(text string, instants []calendar.Instant) string { return stamped(plain(text), instants) }
