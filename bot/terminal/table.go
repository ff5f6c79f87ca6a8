package terminal

import (
	"strings"

	"github.com/rivo/uniseg"

	"shortday/bot"
)

const (
	gap       = 2  // cells between columns
	narrowest = 8  // a column is not squeezed below this, nor
	unbroken  = 16 // below its longest word of up to so many cells, such as a day
)

// table sets rows in columns that line up. Too wide for the sheet, the widest columns are wrapped; if that is not
// enough, each row becomes lines of "head: cell".
func (s Sheet) table(t bot.Table) string {
	if len(t.Rows) == 0 {
		return ""
	}
	widths := natural(t)
	if s.Width > 0 && !squeeze(widths, leasts(t), s.Width-gap*(len(widths)-1)) {
		return s.stacked(t)
	}
	heads := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = bot.Clean(c.Head, false)
	}
	right := numeric(t)
	var lines []string
	for _, line := range row(heads, widths, right) {
		lines = append(lines, s.ink(faint, line))
	}
	for _, cells := range t.Rows {
		lines = append(lines, row(texts(cells), widths, right)...)
	}
	return strings.Join(lines, "\n")
}

func texts(cells []bot.Cell) []string {
	shown := make([]string, len(cells))
	for i, c := range cells {
		shown[i] = bot.Clean(c.String(), false)
	}
	return shown
}

func natural(t bot.Table) []int {
	widths := make([]int, len(t.Columns))
	for i, c := range t.Columns {
		widths[i] = uniseg.StringWidth(bot.Clean(c.Head, false))
	}
	for _, cells := range t.Rows {
		for i, text := range texts(cells) {
			widths[i] = max(widths[i], uniseg.StringWidth(text))
		}
	}
	return widths
}

// numeric tells the columns in which all that is known are numbers; they are set to the right.
func numeric(t bot.Table) []bool {
	right := make([]bool, len(t.Columns))
	for i := range right {
		for _, cells := range t.Rows {
			if cells[i].IsNone() {
				continue
			}
			right[i] = cells[i].IsNumber()
			if !right[i] {
				break
			}
		}
	}
	return right
}

// leasts gives what each column is not squeezed below.
func leasts(t bot.Table) []int {
	least := make([]int, len(t.Columns))
	for i := range least {
		least[i] = narrowest
		for _, cells := range t.Rows {
			for word := range strings.FieldsSeq(bot.Clean(cells[i].String(), false)) {
				if w := uniseg.StringWidth(word); w <= unbroken {
					least[i] = max(least[i], w)
				}
			}
		}
	}
	return least
}

// squeeze narrows the widest columns until all fit, and reports whether they do.
func squeeze(widths, least []int, room int) bool {
	sum := 0
	for _, w := range widths {
		sum += w
	}
	for ; sum > room; sum-- {
		widest := -1
		for i, w := range widths {
			if w > least[i] && (widest < 0 || w > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			return false
		}
		widths[widest]--
	}
	return true
}

// row sets one row, on as many lines as its longest cell takes.
func row(cells []string, widths []int, right []bool) []string {
	columns := make([][]string, len(cells))
	height := 1
	for i, cell := range cells {
		columns[i] = wrap(cell, widths[i])
		height = max(height, len(columns[i]))
	}
	lines := make([]string, height)
	for n := range lines {
		parts := make([]string, len(cells))
		for i, column := range columns {
			text := ""
			if n < len(column) {
				text = column[n]
			}
			parts[i] = pad(text, widths[i], right[i])
		}
		lines[n] = strings.TrimRight(strings.Join(parts, strings.Repeat(" ", gap)), " ")
	}
	return lines
}

func (s Sheet) stacked(t bot.Table) string {
	var rows []string
	for _, cells := range t.Rows {
		var lines []string
		for i, text := range texts(cells) {
			lines = append(lines, wrap(bot.Clean(t.Columns[i].Head, false)+": "+text, s.Width)...)
		}
		rows = append(rows, strings.Join(lines, "\n"))
	}
	return strings.Join(rows, "\n\n")
}
