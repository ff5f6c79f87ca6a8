package picture

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"shortday/knowledge/calendar"
)

// Supply is stems a week with their uncertainty, against what is promised.
type Supply struct {
	Title, Note string
	Parts       []string // the names of what each week's stems are of, at most seven
	Weeks       []SupplyWeek
}

// SupplyWeek is one week: Expected has a number for each part; Low and High are of their sum, nine seasons in ten.
type SupplyWeek struct {
	From      calendar.Day
	Expected  []float64
	Low, High float64
	Promised  int
}

func (w SupplyWeek) sum() float64 {
	sum := 0.0
	for _, e := range w.Expected {
		sum += e
	}
	return sum
}

// MostParts is how many parts a picture tells apart.
const MostParts = 7

func partColour(i int) color.Color {
	return [MostParts]color.RGBA{orange, sky, green, purple, blue, yellow, faint}[i%MostParts]
}

// Alt tells in words what the picture shows.
func (s Supply) Alt() string {
	var weeks []string
	for _, w := range s.Weeks {
		if w.sum() < 0.5 && w.Promised == 0 {
			continue
		}
		text := fmt.Sprintf("week of %s: %.0f stems, %.0f to %.0f", w.From.Annual(), w.sum(), w.Low, w.High)
		if w.Promised > 0 {
			text += fmt.Sprintf(", %d promised", w.Promised)
		}
		weeks = append(weeks, text)
	}
	return clipped(s.Title + ". " + strings.Join(weeks, "; ") + ".")
}

const barHeight = 300

// Draw draws a column a week, a whisker over its uncertainty, and a bar where something is promised.
func (s Supply) Draw() ([]byte, error) {
	top := headHeight(s.Title, s.Note) + 12
	c := newCanvas(top + barHeight + 64)
	c.head(s.Title, s.Note)
	most := 1.0
	for _, w := range s.Weeks {
		most = max(most, w.sum(), w.High, float64(w.Promised))
	}
	unit := tidy(most / 5)
	most = math.Ceil(most/unit) * unit
	up := func(stems float64) float64 { return top + barHeight*(1-stems/most) }
	const edge = border + 44
	for v := 0.0; v <= most+unit/2; v += unit {
		c.line(edge, up(v), width-border, up(v), 1, hair)
		c.text(edge-6, up(v), small, right, false, faint, fmt.Sprintf("%.0f", v))
	}
	step := (width - border - edge) / float64(max(1, len(s.Weeks)))
	named := edge - 100.0
	for i, w := range s.Weeks {
		x, broad := edge+float64(i)*step, step*0.62
		c.week(w, x+(step-broad)/2, broad, up)
		name := w.From.Annual().String()
		if x+step/2-named > c.wide(small, false, name)+8 {
			c.text(x+step/2, up(0)+11, small, middle, false, faint, name)
			named = x + step/2
		}
	}
	c.supplyLegend(s, up(0)+36)
	return c.png()
}

func (c *canvas) week(w SupplyWeek, x, broad float64, up func(float64) float64) {
	sum := 0.0
	for i, e := range w.Expected {
		c.box(x, up(sum+e), broad, up(sum)-up(sum+e), partColour(i))
		sum += e
	}
	if w.High > 0 {
		mid := x + broad/2
		c.line(mid, up(w.Low), mid, up(w.High), 1.4, ink)
		c.line(mid-4, up(w.Low), mid+4, up(w.Low), 1.4, ink)
		c.line(mid-4, up(w.High), mid+4, up(w.High), 1.4, ink)
	}
	if w.Promised > 0 {
		y := up(float64(w.Promised))
		c.line(x-broad*0.2, y, x+broad*1.2, y, 3, vermilion)
	}
}

func (c *canvas) supplyLegend(s Supply, y float64) {
	x := float64(border)
	entry := func(text string, draw func(x float64)) {
		draw(x)
		c.text(x+18, y, small, left, false, faint, text)
		x += 18 + c.wide(small, false, text) + 14
	}
	for i, name := range s.Parts {
		if shown := []rune(name); len(shown) > 16 {
			name = string(shown[:15]) + "…"
		}
		entry(name, func(x float64) { c.box(x, y-5, 12, 10, partColour(i)) })
	}
	entry("nine in ten", func(x float64) {
		c.line(x+6, y-6, x+6, y+6, 1.4, ink)
		c.line(x+2, y-6, x+10, y-6, 1.4, ink)
		c.line(x+2, y+6, x+10, y+6, 1.4, ink)
	})
	entry("promised", func(x float64) { c.line(x, y, x+13, y, 3, vermilion) })
}

// tidy gives the next 1, 2 or 5 times a power of ten.
func tidy(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(max(x, 1))))
	for _, n := range []float64{1, 2, 5, 10} {
		if n*power >= x {
			return n * power
		}
	}
	return 10 * power
}
