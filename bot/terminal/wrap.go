package terminal

import (
	"strings"

	"github.com/rivo/uniseg"
)

// wrap breaks text at blanks into lines of at most width cells; a longer word is broken anywhere. What a line is
// indented by, its continuations are too. A width of 0 breaks nothing.
func wrap(text string, width int) []string {
	if text == "" {
		return nil
	}
	lines := strings.Split(text, "\n")
	if width <= 0 {
		return lines
	}
	var wrapped []string
	for _, line := range lines {
		wrapped = append(wrapped, wrapLine(line, width)...)
	}
	return wrapped
}

func wrapLine(line string, width int) []string {
	if uniseg.StringWidth(line) <= width {
		return []string{line}
	}
	body := strings.TrimLeft(line, " ")
	indent := line[:min(len(line)-len(body), width/2)]
	var lines []string
	current, used := indent, len(indent)
	empty := true
	flush := func() {
		lines = append(lines, current)
		current, used, empty = indent, len(indent), true
	}
	for _, word := range strings.Fields(body) {
		if !empty && used+1+uniseg.StringWidth(word) > width {
			flush()
		}
		if !empty {
			current, used = current+" ", used+1
		}
		for used+uniseg.StringWidth(word) > width {
			fits := prefix(word, width-used)
			current, word = current+fits, word[len(fits):]
			flush()
		}
		current, used, empty = current+word, used+uniseg.StringWidth(word), false
	}
	return append(lines, current)
}

// prefix gives the longest beginning of at most so many cells, at least one whole character.
func prefix(word string, cells int) string {
	end, used, state := 0, 0, -1
	for rest := word; rest != ""; {
		var cluster string
		var width int
		cluster, rest, width, state = uniseg.FirstGraphemeClusterInString(rest, state)
		if end > 0 && used+width > cells {
			break
		}
		end, used = end+len(cluster), used+width
	}
	return word[:end]
}

// pad fills a text with blanks to so many cells, on its left where right is set.
func pad(text string, cells int, right bool) string {
	blanks := strings.Repeat(" ", max(0, cells-uniseg.StringWidth(text)))
	if right {
		return blanks + text
	}
	return text + blanks
}
