package place

import (
	"strconv"
	"strings"

	"shortday/knowledge/fault"
)

// angle is one value of a position as it was written.
type angle struct {
	parts  []string // degrees, minutes, seconds
	marks  string   // the marks met, in order
	sign   string   // "", "+" or "-"
	letter string   // "", or one of N S E W
}

func (a angle) axis() string {
	for _, axis := range []string{"NS", "EW"} {
		if a.letter != "" && strings.Contains(axis, a.letter) {
			return axis
		}
	}
	return ""
}

func (a angle) empty() bool { return len(a.parts) == 0 && a.sign == "" && a.letter == "" }

// degrees gives the value, south and west negative.
func (a angle) degrees() (float64, error) {
	if a.sign != "" && a.letter != "" {
		return 0, fault.New(fault.Unclear, "A sign and a letter together can mean two things; write %s%s or %s%s.",
			a.sign, a.parts[0], a.parts[0], a.letter)
	}
	total, unit := 0.0, 1.0
	for i, text := range a.parts {
		value, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return 0, unclear(text)
		}
		if i > 0 && value >= 60 {
			return 0, fault.New(fault.Unclear, "Minutes and seconds end before 60, so %s cannot be one; write the value in decimal degrees.", text)
		}
		if i < len(a.parts)-1 && strings.Contains(text, ".") {
			return 0, fault.New(fault.Unclear, "Only the last part of a value may have decimals, and %s is not the last; leave one of them out.", text)
		}
		total += value / unit
		unit *= 60
	}
	if a.sign == "-" || a.letter == "S" || a.letter == "W" {
		total = -total
	}
	return total, nil
}

// group gathers tokens into the two values of a position.
func group(tokens []string) (pair [2]angle, ok bool) {
	if len(tokens) == 0 {
		return pair, false
	}
	g := grouping{lettersLead: strings.Contains("NSEW", tokens[0])}
	for _, t := range tokens {
		if !g.take(t) {
			return pair, false
		}
	}
	g.close()
	if len(g.done) == 1 {
		g.done = halves(g.done[0])
	}
	if len(g.done) != 2 {
		return pair, false
	}
	for i, a := range g.done {
		if len(a.parts) == 0 || len(a.parts) > 3 || !strings.HasPrefix(`°'"`, a.marks) {
			return pair, false
		}
		pair[i] = a
	}
	return pair, true
}

type grouping struct {
	lettersLead bool // N 51 E 0, not 51 N 0 E
	done        []angle
	open        angle
	afterNumber bool
}

func (g *grouping) close() {
	if !g.open.empty() {
		g.done = append(g.done, g.open)
	}
	g.open = angle{}
}

// take adds one token; ok is false where it can have no place.
func (g *grouping) take(t string) (ok bool) {
	afterNumber := g.afterNumber
	g.afterNumber = false
	switch t {
	case ",", ";":
		ok = len(g.open.parts) > 0 || len(g.done) > 0
		g.close()
		return ok
	case "+", "-":
		if len(g.open.parts) > 0 {
			g.close()
		}
		ok = g.open.sign == ""
		g.open.sign = t
		return ok
	case "N", "S", "E", "W":
		return g.letter(t)
	case "°", "'", `"`:
		return afterNumber && g.mark(t)
	}
	g.afterNumber = true
	g.open.parts = append(g.open.parts, t)
	return true
}

func (g *grouping) letter(t string) bool {
	if g.lettersLead && len(g.open.parts) > 0 {
		g.close()
	}
	if g.open.letter != "" || g.lettersLead != (len(g.open.parts) == 0) {
		return false
	}
	g.open.letter = t
	if !g.lettersLead {
		g.close()
	}
	return true
}

// mark names the last number's unit; a degree sign on a later number begins the second value.
func (g *grouping) mark(t string) bool {
	last := len(g.open.parts) - 1
	if t == "°" && last > 0 {
		next := angle{parts: []string{g.open.parts[last]}, marks: t}
		g.open.parts = g.open.parts[:last]
		g.close()
		g.open = next
		return true
	}
	// Units may stay unwritten only at the end: a mark must be that of its number.
	if last > 2 || t != string([]rune(`°'"`)[last]) {
		return false
	}
	g.open.marks += t
	return true
}

// halves parts numbers that nothing keeps apart but their count.
func halves(a angle) []angle {
	n := len(a.parts)
	if n%2 != 0 || n > 6 || a.letter != "" || a.marks != "" {
		return nil
	}
	return []angle{{parts: a.parts[:n/2], sign: a.sign}, {parts: a.parts[n/2:]}}
}
