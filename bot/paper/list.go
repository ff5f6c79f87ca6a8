package paper

import (
	"fmt"
	"time"

	"shortday/bot/lettering"
)

// List is a table for the wall: groups of rows under their heads, each row with a box to tick and room for pencil.
type List struct {
	Title   string
	Note    string // a paragraph under the title
	Columns []Column
	Groups  []Group
	Pencil  string // the head of the empty last column
}

// Column has a head and a share of the width.
type Column struct {
	Head  string
	Share float64
}

// Group is rows under one head; each row has a cell a column.
type Group struct {
	Head string
	Rows [][]string
}

const (
	tick   = 5    // side of the box to tick
	writes = 0.22 // of the width: the room for pencil
	text   = 9
	ofAll  = "\ue000" // stands for the number of pages, and in no text: it is none that lettering writes
)

// Set sets the list on as many pages as it takes; each has the heads and its number.
func (l List) Set(sheet Sheet, at time.Time) ([]byte, error) {
	p := &lister{page: newPage(sheet, false, l.Title, at), list: l}
	p.AliasNbPages(ofAll)
	p.begin()
	for _, g := range l.Groups {
		if len(g.Rows) > 0 {
			p.group(g)
		}
	}
	return p.bytes()
}

type lister struct {
	*page
	list List
	y    float64
}

func (p *lister) begin() {
	p.AddPage()
	p.y = margin
	title, _ := lettering.Writable(p.list.Title)
	lines, size := p.fit(title, bold, p.width-2*margin, 2, 16, 10)
	for _, line := range lines {
		p.write(margin, p.y, size, bold, line)
		p.y += height(size)
	}
	if p.PageNo() == 1 && p.list.Note != "" {
		note, _ := lettering.Writable(p.list.Note)
		p.SetFont(face, "", text)
		for _, line := range p.wrap(note, p.width-2*margin) {
			p.write(margin, p.y, text, "", line)
			p.y += height(text)
		}
	}
	p.write(p.width-margin-30, p.height-margin, 8, "", fmt.Sprintf("Page %d of %s", p.PageNo(), ofAll))
	p.y += 2
	x := float64(margin + tick + 2)
	for _, c := range p.list.Columns {
		p.write(x, p.y, 8, bold, c.Head)
		x += c.Share * p.room()
	}
	p.write(x, p.y, 8, bold, p.list.Pencil)
	p.y += height(8) + 1
}

// room is the width that the columns share.
func (p *lister) room() float64 { return (p.width - 2*margin - tick - 2) * (1 - writes) }

func (p *lister) group(g Group) {
	head, _ := lettering.Writable(g.Head)
	p.need(height(11) + 2 + p.rowHeight(g.Rows[0]))
	p.y += 2
	p.write(margin, p.y, 11, bold, head)
	p.y += height(11)
	for _, row := range g.Rows {
		p.need(p.rowHeight(row))
		p.row(row)
	}
}

// need begins a page where this one has not the room.
func (p *lister) need(height float64) {
	if p.y+height > p.height-margin-3 {
		p.begin()
	}
}

func (p *lister) cells(row []string) [][]string {
	p.SetFont(face, "", text)
	cells := make([][]string, len(row))
	for i, cell := range row {
		shown, _ := lettering.Writable(cell)
		cells[i] = p.wrap(shown, p.list.Columns[i].Share*p.room()-2)
	}
	return cells
}

func (p *lister) rowHeight(row []string) float64 {
	lines := 1
	for _, cell := range p.cells(row) {
		lines = max(lines, len(cell))
	}
	return max(float64(lines)*height(text), tick) + 2
}

func (p *lister) row(row []string) {
	tall := p.rowHeight(row)
	p.SetDrawColor(grey, grey, grey)
	p.Rect(margin, p.y+1, tick-1, tick-1, "D")
	x := float64(margin + tick + 2)
	for i, cell := range p.cells(row) {
		for n, line := range cell {
			p.write(x, p.y+1+float64(n)*height(text), text, "", line)
		}
		x += p.list.Columns[i].Share * p.room()
	}
	p.y += tall
	p.rule(margin, p.width-margin, p.y)
}
