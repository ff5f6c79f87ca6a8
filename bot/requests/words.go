package requests

import "fmt"

// count gives a number with its noun: "12 boxed".
func count(n int, what string) string { return fmt.Sprintf("%d %s", n, what) }

// plural gives a number with its noun in the right form: "1 stem", "3 stems".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
