package requests

import (
	"fmt"
	"strings"
)

// count gives a number with its noun: "12 boxed".
func count(n int, what string) string { return fmt.Sprintf("%d %s", n, what) }

// plural gives a number with its noun in the right form: "1 stem", "3 stems".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// sentences strings full sentences together.
func sentences(texts []string) string { return strings.Join(texts, " ") }

// listed joins words as in "a, b and c".
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}
