package discord

import (
	"strings"

	"github.com/rivo/uniseg"

	"shortday/bot"
)

// telephone is how many even letters stand beside each other in a card on a narrow telephone.
const telephone = 38

// blocks gives a table as pieces that each stand for themselves: columns where a telephone shows them side by side,
// else a row after the other with its heads.
func blocks(t bot.Table, most int) []string {
	if len(t.Rows) == 0 {
		return nil
	}
	if widths := measure(t); total(widths) <= telephone {
		return columns(t, widths, most)
	}
	heads := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = plain(c.Head)
	}
	var rows []string
	for _, row := range t.Rows {
		rows = append(rows, entry(heads, row))
	}
	return gather(rows, "\n\n", most)
}

func measure(t bot.Table) []int {
	widths := make([]int, len(t.Columns))
	for i, c := range t.Columns {
		widths[i] = uniseg.StringWidth(c.Head)
	}
	for _, row := range t.Rows {
		for i, cell := range row {
			widths[i] = max(widths[i], uniseg.StringWidth(flat(cell)))
		}
	}
	return widths
}

// flat gives a cell in one line.
func flat(c bot.Cell) string { return strings.Join(strings.Fields(c.String()), " ") }

func total(widths []int) int {
	sum := 2 * (len(widths) - 1)
	for _, w := range widths {
		sum += w
	}
	return sum
}

// columns writes aligned columns, their heads above each piece.
func columns(t bot.Table, widths []int, most int) []string {
	var heads []string
	for _, c := range t.Columns {
		heads = append(heads, c.Head)
	}
	head := align(heads, widths, make([]bool, len(widths)))
	var lines []string
	for _, row := range t.Rows {
		cells, numbers := make([]string, len(row)), make([]bool, len(row))
		for i, cell := range row {
			cells[i], numbers[i] = flat(cell), cell.IsNumber()
		}
		lines = append(lines, align(cells, widths, numbers))
	}
	fence := length(fenced(head)) + 1
	pieces := gather(lines, "\n", most-fence-len(nothing)*strings.Count(strings.Join(lines, ""), "`"))
	for i, piece := range pieces {
		pieces[i] = fenced(head + "\n" + piece)
	}
	return pieces
}

func align(cells []string, widths []int, right []bool) string {
	var b strings.Builder
	for i, cell := range cells {
		if i > 0 {
			b.WriteString("  ")
		}
		gap := strings.Repeat(" ", max(widths[i]-uniseg.StringWidth(cell), 0))
		if right[i] {
			b.WriteString(gap + cell)
		} else {
			b.WriteString(cell + gap)
		}
	}
	return strings.TrimRight(b.String(), " ")
}

// entry writes one row as a heading and what belongs to it, under plain heads. What is none is left out.
func entry(heads []string, row []bot.Cell) string {
	var parts []string
	for i, cell := range row {
		if i > 0 && !cell.IsNone() {
			parts = append(parts, heads[i]+" "+plain(flat(cell)))
		}
	}
	return strings.TrimSpace("**" + plain(flat(row[0])) + "**\n" + strings.Join(parts, " · "))
}

// gather puts texts together as long as they fit.
func gather(texts []string, between string, most int) []string {
	var pieces []string
	for _, text := range texts {
		for _, part := range split(text, most) {
			last := len(pieces) - 1
			if last >= 0 && length(pieces[last])+length(between)+length(part) <= most {
				pieces[last] += between + part
			} else {
				pieces = append(pieces, part)
			}
		}
	}
	return pieces
}
