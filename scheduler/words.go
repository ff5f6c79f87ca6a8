package scheduler

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"shortday/knowledge/calendar"
)

// plural gives a number with its noun in the right form: "1 job", "3 jobs".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// listed joins words as in "a, b and c".
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

func upper(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

func lower(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToLower(first)) + text[size:]
}

// dayAhead gives a day of the days ahead in short: "Mon 7 Jun".
func dayAhead(d calendar.Day) string { return d.Weekday().String()[:3] + " " + d.Annual().String() }
