package requests_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/knowledge/variety"
)

// told gives what /variety show tells of a field, "" where it does not.
func (l lane) told(name, field string) string {
	l.t.Helper()
	for _, row := range l.says("2026-11-20", bot.Typed("/variety show", "variety", name)).Rows.Rows {
		if row[0].String() == field {
			return row[1].String()
		}
	}
	return ""
}

func TestEveryClassIsAStart(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	l.says("2026-11-20", "/grower place place:53.1,-6.7 zone:Europe/Dublin")
	for i, class := range variety.Classes() {
		name := fmt.Sprintf("Number %d", i)
		l.says("2026-11-20", bot.Typed("/variety add", "name", name, "like", class.Name, "sure", "yes"))
		require.Equal(t, string(class.Variety().Season), l.told(name, "season"))
		require.Equal(t, string(class.Variety().Form), l.told(name, "form"))
	}
}

// What is told later replaces what was known, and takes with it only what no longer fits.
func TestLaterTellingWins(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	add := func(pairs ...string) {
		t.Helper()
		l.says("2026-11-20", bot.Typed("/variety add", append([]string{"name", "Saltmarsh"}, pairs...)...))
	}
	told := func(want map[string]string) {
		t.Helper()
		for field, is := range want {
			require.Equal(t, is, l.told("Saltmarsh", field), field)
		}
	}
	add("section", "9d", "colour", "bronze", "response", "9.5")
	told(map[string]string{"season": "late", "form": "spray", "section": "9d", "colour": "bronze", "response": "9.5 weeks"})
	add("season", "mid")
	told(map[string]string{"season": "mid", "form": "spray", "section": ""})
	add("section", "4a")
	told(map[string]string{"season": "late", "form": "reflexed", "section": "4a"})
	add("form", "incurved", "colour", "none", "response", "0")
	told(map[string]string{"season": "late", "form": "incurved", "section": "", "colour": "", "response": ""})

	add("natural", "8 nov", "natural-at", "52 N")
	told(map[string]string{"natural": "8 Nov at 52° N"})
	add("natural-at", "43.6 S")
	told(map[string]string{"natural": "8 Nov at 43.6° S"})
	add("natural", "none")
	told(map[string]string{"natural": "15 Nov at 52° N"})
	add("bud-hours", "15")
	told(map[string]string{"bud-hours": "below 15 h", "flower-hours": "below 13.5 h"})

	add("licence", "holder 12")
	told(map[string]string{"protection": "propagated under a licence", "licence": "holder 12"})
	add("protection", "free")
	told(map[string]string{"protection": "free of breeders' rights", "licence": ""})
	add("protection", "unknown", "until", "2031-06-30")
	told(map[string]string{"protection": "breeders' rights not known"})
}
