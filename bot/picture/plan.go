package picture

import (
	"cmp"
	"fmt"
	"image/color"
	"slices"
	"strings"

	"shortday/knowledge/calendar"
)

// Plans are plans over a time, a row each.
type Plans struct {
	Title, Note     string
	From, To, Today calendar.Day
	Rows            []PlanRow
}

// PlanRow is one plan.
type PlanRow struct {
	Name, Below string
	Marks       []Mark
}

// Mark is a step at its likely day, or on the day on which it was done.
type Mark struct {
	Name   string
	Window calendar.Window
	Done   bool
	Work   Work
}

// Work is what a step has to do with, which chooses its colour.
type Work int

// The kinds of work.
const (
	Tending Work = iota // potting, planting, housing, and all else
	Raising             // waking, cutting, striking
	Shaping             // stopping, disbudding, and the days made by hand
	Blooming
	Resting // cutting down, lifting, boxing
)

func (w Work) colour() color.Color {
	return [...]color.RGBA{ink, green, blue, vermilion, purple}[w]
}

const (
	named = 150 // width of the names
	lane  = 17
	dot   = 4.5
)

// Alt tells in words what the picture shows.
func (p Plans) Alt() string {
	var rows []string
	for _, r := range p.Rows {
		var next, done []string
		for _, m := range r.Marks {
			if m.Done {
				done = append(done, m.Name)
			} else {
				next = append(next, m.Name+" "+m.Window.Likely.Annual().String())
			}
		}
		row := r.Name + ": "
		if len(done) > 0 {
			row += fmt.Sprintf("%d done", len(done))
			if len(next) > 0 {
				row += "; "
			}
		}
		rows = append(rows, row+strings.Join(next[:min(4, len(next))], ", "))
	}
	return clipped(p.Title + ". " + strings.Join(rows, ". ") + ".")
}

// clipped keeps a text to what platforms take as alternative text.
func clipped(text string) string {
	const most = 1000
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most-1]) + "…"
	}
	return text
}

// Draw draws the plans.
func (p Plans) Draw() ([]byte, error) {
	measure := newCanvas(1)
	across := axis{p.From, p.To, border + named, width - border}
	rows := make([][][]Mark, len(p.Rows))
	top := headHeight(p.Title, p.Note) + 20
	bottom := top
	for i, r := range p.Rows {
		rows[i] = lanes(measure, across, r.Marks)
		bottom += rowHeight(rows[i], measure, r)
	}
	c := newCanvas(bottom + 46)
	c.head(p.Title, p.Note)
	across.months(c, top, bottom)
	y := top
	for i, r := range p.Rows {
		c.line(border, y, width-border, y, 1, hair)
		c.planRow(across, r, rows[i], y)
		y += rowHeight(rows[i], measure, r)
	}
	c.line(border, y, width-border, y, 1, hair)
	across.today(c, p.Today, top, bottom)
	c.legend(bottom + 26)
	return c.png()
}

func rowHeight(lanes [][]Mark, c *canvas, r PlanRow) float64 {
	words := len(c.wrapped(body, true, r.Name, named-8)) + len(c.wrapped(small, false, r.Below, named-8))
	return max(float64(len(lanes))*lane, float64(words)*16) + 12
}

// lanes lays marks one above another so that neither windows nor names overlap.
func lanes(c *canvas, across axis, marks []Mark) [][]Mark {
	marks = slices.Clone(marks)
	slices.SortStableFunc(marks, func(a, b Mark) int { return cmp.Compare(a.Window.Likely, b.Window.Likely) })
	var all [][]Mark
	var ends []float64
	for _, m := range marks {
		from, to := reach(c, across, m)
		at := 0
		for at < len(ends) && ends[at] > from {
			at++
		}
		if at == len(ends) {
			all, ends = append(all, nil), append(ends, 0)
		}
		all[at], ends[at] = append(all[at], m), to+6
	}
	return all
}

// reach is the room that a mark takes with its window and its name, which stands on the side that has room for it.
func reach(c *canvas, across axis, m Mark) (from, to float64) {
	x := across.at(across.clip(m.Window.Likely))
	from, to = min(x-dot, across.at(across.clip(m.Window.Earliest))), max(x+dot, across.at(across.clip(m.Window.Latest)))
	words := c.wide(small, false, m.Name) + 4
	if to+words <= width-border/2 {
		return from, to + words
	}
	return from - words, to
}

func (c *canvas) planRow(across axis, r PlanRow, lanes [][]Mark, y float64) {
	at := y + 14
	for _, line := range c.wrapped(body, true, r.Name, named-8) {
		c.text(border, at, body, left, true, ink, line)
		at += 16
	}
	for _, line := range c.wrapped(small, false, r.Below, named-8) {
		c.text(border, at, small, left, false, faint, line)
		at += 15
	}
	for i, marks := range lanes {
		for _, m := range marks {
			c.mark(across, m, y+14+float64(i)*lane)
		}
	}
}

func (c *canvas) mark(across axis, m Mark, y float64) {
	of := m.Work.colour()
	x := across.at(across.clip(m.Window.Likely))
	from, to := across.at(across.clip(m.Window.Earliest)), across.at(across.clip(m.Window.Latest))
	c.line(from, y, to, y, 1.2, of)
	if m.Work == Blooming {
		c.bloom(x, y, dot+2.5, m.Done, of)
	} else {
		c.ring(x, y, dot, m.Done, of)
	}
	words := c.wide(small, false, m.Name) + 4
	if end := max(to, x+dot); end+words <= width-border/2 {
		c.text(end+5, y, small, left, false, ink, m.Name)
		return
	}
	c.text(min(from, x-dot)-5, y, small, right, false, ink, m.Name)
}

func (c *canvas) legend(y float64) {
	x := float64(border)
	for _, k := range []struct {
		mark Mark
		text string
	}{{Mark{}, "likely day, with nine years in ten along the line"}, {Mark{Done: true}, "done"}, {Mark{Work: Blooming}, "bloom"}} {
		if k.mark.Work == Blooming {
			c.bloom(x+6, y, dot+2, false, k.mark.Work.colour())
		} else {
			c.ring(x+6, y, dot, k.mark.Done, ink)
		}
		if !k.mark.Done && k.mark.Work != Blooming {
			c.line(x-2, y, x+1, y, 1.2, ink)
			c.line(x+11, y, x+14, y, 1.2, ink)
		}
		c.text(x+18, y, small, left, false, faint, k.text)
		x += 18 + c.wide(small, false, k.text) + 20
	}
}
