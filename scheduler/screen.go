package scheduler

import (
	"strings"
	"unicode/utf8"
)

// A group's notice fits one screen.
const (
	screenLines   = 25
	screenLetters = 1500
	screenWidth   = 80
)

// fits reports whether a notice fits one screen, with title and offers, its lines wrapped.
func (n Notice) fits() bool {
	rows, letters := 2, utf8.RuneCountInString(n.Title+n.Text)+3 // the title and the empty line below it
	for text := range strings.SplitSeq(n.Text, "\n") {
		rows += rowsOf(text)
	}
	if len(n.Next) > 0 {
		rows++
	}
	for _, o := range n.Next {
		label := o.Label + "  " + o.Request
		rows += rowsOf(label + "    ") // a number stands before it
		letters += utf8.RuneCountInString(label) + 5
	}
	return rows <= screenLines && letters <= screenLetters
}

// rowsOf gives how many rows a line takes once it is wrapped between words.
func rowsOf(text string) int {
	rows, used := 1, 0
	for _, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case used == 0:
			used = n
		case used+1+n > screenWidth:
			rows++
			used = n
		default:
			used += 1 + n
		}
		for used > screenWidth {
			rows++
			used -= screenWidth
		}
	}
	return rows
}
