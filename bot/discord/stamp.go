package discord

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"shortday/knowledge/calendar"
)

// stamped writes after each instant that a text names the platform's mark of it, which every reader sees by their own
// clock. The text is plain already: a mark that somebody typed shows as it was typed. Marks do nothing in even letters.
func stamped(text string, instants []calendar.Instant) string {
	instants = slices.Clone(instants)
	slices.SortStableFunc(instants, func(a, b calendar.Instant) int { return cmp.Compare(len(b.String()), len(a.String())) }) // the whole before its beginning
	var pairs []string
	for _, i := range instants {
		words := plain(i.String())
		pairs = append(pairs, words, words+fmt.Sprintf(" (by your clock <t:%d:F>)", i.At.Unix()))
	}
	return strings.NewReplacer(pairs...).Replace(text)
}
