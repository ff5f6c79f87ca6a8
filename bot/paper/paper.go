// Package paper sets what is asked for as PDF pages: labels to cut out, and lists for the wall. What stands on them it
// leaves to its caller. Lengths are in millimetres, sizes of letters in points.
package paper

import (
	"bytes"
	"fmt"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"shortday/bot/lettering"
)

// Type is the media type of what this package gives.
const Type = "application/pdf"

// Sheet is a size of paper.
type Sheet string

// The sheets.
const (
	A4     Sheet = "A4"
	Letter Sheet = "Letter"
)

const (
	margin = 10
	face   = "face"
	bold   = "B"
	grey   = 150 // of 255: lines to cut or write along
)

// page is a PDF in the making.
type page struct {
	*fpdf.Fpdf
	width, height float64
}

func newPage(sheet Sheet, landscape bool, title string, at time.Time) *page {
	orientation := "P"
	if landscape {
		orientation = "L"
	}
	p := &page{Fpdf: fpdf.New(orientation, "mm", string(sheet), "")}
	p.AddUTF8FontFromBytes(face, "", lettering.Regular())
	p.AddUTF8FontFromBytes(face, bold, lettering.Bold())
	p.SetTitle(title, true)
	p.SetCreator("Shortday", true)
	p.SetCreationDate(at)
	p.SetModificationDate(at)
	p.SetCatalogSort(true)
	p.SetMargins(margin, margin, margin)
	p.SetAutoPageBreak(false, margin)
	p.SetLineWidth(0.2)
	p.width, p.height = p.GetPageSize()
	return p
}

func (p *page) bytes() ([]byte, error) {
	var out bytes.Buffer
	if err := p.Output(&out); err != nil {
		return nil, fmt.Errorf("setting a page: %w", err)
	}
	return out.Bytes(), nil
}

// write sets one line with its left upper corner at a point.
func (p *page) write(x, y, size float64, style, text string) {
	p.SetFont(face, style, size)
	p.SetXY(x, y)
	p.CellFormat(p.GetStringWidth(text)+1, height(size), text, "", 0, "L", false, 0, "")
}

// height gives how much room a line of letters takes.
func height(size float64) float64 { return size * 0.3528 * 1.25 }

// fit gives the lines that a text takes in a width, at most so many, at the largest size from the greatest to the least
// that holds them. Only what does not fit at the least is cut, and then ends in an ellipsis.
func (p *page) fit(text, style string, width float64, most int, greatest, least float64) (lines []string, size float64) {
	for size = greatest; ; size-- {
		p.SetFont(face, style, size)
		if lines = p.wrap(text, width); len(lines) <= most {
			return lines, size
		}
		if size <= least {
			lines = lines[:most]
			last := []rune(lines[most-1])
			for len(last) > 0 && p.GetStringWidth(string(last)+"…") > width {
				last = last[:len(last)-1]
			}
			lines[most-1] = string(last) + "…"
			return lines, size
		}
	}
}

// wrap breaks a text at blanks, and within a word that is wider than a line. There is always one line.
func (p *page) wrap(text string, width float64) []string {
	var lines []string
	for _, line := range p.SplitText(text, width+2*p.GetCellMargin()) {
		if line != "" || len(lines) > 0 {
			lines = append(lines, line)
		}
	}
	return append(lines, "")[:max(1, len(lines))]
}
