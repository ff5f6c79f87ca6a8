// Package listing reads lists as spreadsheets save them and writes lists that they open: which column is which, and in
// which line what stands. What is in the cells, and where a file lies, it leaves to others.
package listing

import (
	"regexp"
	"slices"
	"strings"

	"shortday/knowledge/fault"
)

// What a list may have at most. A grower's list has some dozens of lines and a dozen columns.
const (
	MostBytes   = 8 << 20
	MostRows    = 20_000
	MostColumns = 100
	LongestCell = 4_000 // bytes
)

// Row is one line of a list; in a file a cell may run over several.
type Row struct {
	Line  int // in the file, from 1: where the row begins
	Cells []string
}

// Table is a list with its head found.
type Table struct {
	Head    Row
	Unknown []string // heads that no column is called
	Rows    []Row    // those below the head that have anything in them
	at      map[string]int
}

// Read reads a list: commas, semicolons or tabs between cells, UTF-8, UTF-16 or Windows-1252, with or without a mark of
// the byte order. The head is the line, among the first ten with anything in them, that names most of the columns; the
// first column has to be named. What is no such list is fault.Unclear.
func Read(data []byte, columns []Column) (Table, error) {
	if len(data) > MostBytes {
		return Table{}, fault.New(fault.Unclear, "This list is too long: at most %d MB are read. Part it into several files.", MostBytes>>20)
	}
	text, err := decode(data)
	if err != nil {
		return Table{}, err
	}
	line := 1
	comma, body := announced(text)
	if len(body) < len(text) {
		line++
	}
	if comma == 0 {
		comma = sniff(body)
	}
	rows, err := split(body, comma, line)
	if err != nil {
		return Table{}, err
	}
	return headed(rows, columns)
}

// Cell gives what stands in a column of a row, "" where the row or the list has none.
func (t Table) Cell(row Row, column string) string {
	if i, ok := t.at[column]; ok && i < len(row.Cells) {
		return row.Cells[i]
	}
	return ""
}

// Has reports whether the list has a column.
func (t Table) Has(column string) bool {
	_, ok := t.at[column]
	return ok
}

// Beyond reports whether a row has anything in cells for which there is no head.
func (t Table) Beyond(row Row) bool {
	return len(row.Cells) > len(t.Head.Cells) && slices.ContainsFunc(row.Cells[len(t.Head.Cells):], func(cell string) bool { return cell != "" })
}

// separators are what parts cells, the rarest in plain words first.
const separators = "\t;,"

var separatorLine = regexp.MustCompile(`(?i)^"?sep=([,;\t|])"?\r?\n`)

// announced gives the separator that a first line "sep=;" names, which some spreadsheets write, and the text below it.
func announced(text string) (comma byte, body string) {
	if m := separatorLine.FindStringSubmatch(text); m != nil {
		return m[1][0], text[len(m[0]):]
	}
	return 0, text
}

// sniff gives the separator that parts the most of the first lines into the same number of cells.
func sniff(text string) byte {
	const sample = 40
	var counts [len(separators)][]int
	var now [len(separators)]int
	quoted, start := false, true
	for i := 0; i < len(text) && len(counts[0]) < sample; i++ {
		c := text[i]
		at := strings.IndexByte(separators, c)
		switch {
		case quoted:
			if c == '"' && i+1 < len(text) && text[i+1] == '"' {
				i++
			} else if c == '"' {
				quoted = false
			}
			continue
		case c == '"' && start:
			quoted = true
			continue
		case at >= 0:
			now[at]++
		case c == '\n' || c == '\r':
			for k := range counts {
				counts[k] = append(counts[k], now[k])
			}
			now = [len(separators)]int{}
		}
		start = at >= 0 || c == '\n' || c == '\r' || start && c == ' '
	}
	for k := range counts {
		counts[k] = append(counts[k], now[k])
	}
	best, bestAgree := byte(','), 0
	for k, list := range counts {
		if agree := agreeing(list); agree > bestAgree {
			best, bestAgree = separators[k], agree
		}
	}
	return best
}

// agreeing gives how many lines have the most common number of separators, not counting those without any.
func agreeing(counts []int) (most int) {
	seen := map[int]int{}
	for _, n := range counts {
		if n > 0 {
			seen[n]++
			most = max(most, seen[n])
		}
	}
	return most
}
