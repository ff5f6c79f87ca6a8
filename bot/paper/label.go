package paper

import (
	"fmt"
	"math"
	"time"

	"rsc.io/qr"

	"shortday/bot/lettering"
)

// Label is what is cut out and put on a pot, a tray or a box.
type Label struct {
	Name  string // of the variety
	Mark  string // of the batch: the QR code holds it as plain text
	Below string // the year and what else there is room for
}

// Size is the size of a label.
type Size struct {
	Name          string
	Width, Height float64
	Rows          int // lines for pencil, below one another on the tall one; 0 for one beside the name
}

// Sizes gives the sizes: a stick for a pot, a wide one for beds and trays, and one for a box.
func Sizes() []Size {
	return []Size{{"pot", 95, 18, 0}, {"bed", 125, 24, 0}, {"box", 95, 62, 3}}
}

// MostLabels is how many labels one file takes.
const MostLabels = 1000

// Labels sets labels on as many pages as they take, each framed by a line to cut along.
func Labels(labels []Label, size Size, sheet Sheet, at time.Time) ([]byte, error) {
	if len(labels) > MostLabels {
		return nil, fmt.Errorf("%d labels; %d are the most of one file", len(labels), MostLabels)
	}
	p := newPage(sheet, false, "Labels", at)
	across := int((p.width - 2*margin) / size.Width)
	down := int((p.height - 2*margin) / size.Height)
	for i, l := range labels {
		at := i % (across * down)
		if at == 0 {
			p.AddPage()
		}
		x, y := margin+float64(at%across)*size.Width, margin+float64(at/across)*size.Height
		if err := p.label(l, size, x, y); err != nil {
			return nil, err
		}
	}
	return p.bytes()
}

const (
	pad    = 2
	pencil = 0.34 // of the width of a label without rows
)

func (p *page) label(l Label, s Size, x, y float64) error {
	p.SetDrawColor(grey, grey, grey)
	p.Rect(x, y, s.Width, s.Height, "D")
	side := math.Min(s.Height-2*pad, 22)
	if err := p.code(l.Mark, x+pad, y+pad, side); err != nil {
		return err
	}
	room := s.Width - side - 4*pad
	if s.Rows == 0 {
		p.rule(x+s.Width*(1-pencil)+pad, x+s.Width-pad, y+s.Height-2*pad)
		room -= s.Width * pencil
	}
	name, _ := lettering.Writable(l.Name)
	lines, size := p.fit(name, bold, room, 1, 14, 10)
	if lines[0] != name {
		lines, size = p.fit(name, bold, room, 3, 9, 6)
	}
	left, top := x+side+2*pad, y+pad
	if s.Rows > 0 {
		top += pad
	}
	for _, line := range lines {
		p.write(left, top, size, bold, line)
		top += height(size)
	}
	below, _ := lettering.Writable(l.Below)
	p.write(left, top, 9, "", l.Mark+"   "+below)
	for i := range s.Rows {
		p.rule(x+pad, x+s.Width-pad, y+s.Height-pad-float64(i)*10)
	}
	return nil
}

// rule draws a line to write along.
func (p *page) rule(from, to, y float64) { p.Line(from, y, to, y) }

// code draws a QR code (ISO/IEC 18004) with a quiet zone of the paper around it.
func (p *page) code(text string, x, y, side float64) error {
	c, err := qr.Encode(text, qr.M)
	if err != nil {
		return fmt.Errorf("making a code of %q: %w", text, err)
	}
	unit := side / float64(c.Size)
	p.SetFillColor(0, 0, 0)
	for row := range c.Size {
		for from := 0; from < c.Size; from++ {
			to := from
			for to < c.Size && c.Black(to, row) {
				to++
			}
			if to > from {
				p.Rect(x+float64(from)*unit, y+float64(row)*unit, float64(to-from)*unit, unit, "F")
				from = to
			}
		}
	}
	return nil
}
