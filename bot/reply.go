package bot

import (
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Reply is one answer. Adapters know the limits of their platform and split, page or attach; handlers never send.
type Reply struct {
	Title   string
	Text    string // paragraphs parted by an empty line; no markup
	Rows    Table
	Files   []File
	Private bool // only the asker may see it
	Next    []Next
	Refusal *Refusal // nil when the request was answered

	// Instants are those that Text names, each by its String: where a platform can show them by each reader's own clock
	// it does so beside the words.
	Instants []calendar.Instant
}

// Refusal says why a request was not answered, with the next step.
type Refusal struct {
	Kind fault.Kind
	Text string
}

// Next is a prepared request that is offered with a reply. The required fields that it leaves out are asked for
// when it is taken, and so is a day that it has as AskDay.
type Next struct {
	Label, Request string
}

// File is attached to a reply. Alt says in words what it shows.
type File struct {
	Name string // with its extension, without a folder
	Type string // MIME type
	Alt  string
	Data []byte
}

// Table is rows of cells. Each row has one cell a column.
type Table struct {
	Columns []Column
	Rows    [][]Cell
}

// Column has the key under which JSON gives its cells, and the head that people read.
type Column struct {
	Key, Head string
}

// Columns makes columns whose heads are their keys.
func Columns(keys ...string) []Column {
	columns := make([]Column, len(keys))
	for i, key := range keys {
		columns[i] = Column{Key: key, Head: key}
	}
	return columns
}

// check finds rows that do not fit their columns, which no adapter could set.
func (t *Table) check() error {
	for i, cells := range t.Rows {
		if len(cells) != len(t.Columns) {
			return fmt.Errorf("row %d has %d cells for %d columns", i, len(cells), len(t.Columns))
		}
	}
	return nil
}

// Add appends a row.
func (t *Table) Add(cells ...Cell) { t.Rows = append(t.Rows, cells) }
