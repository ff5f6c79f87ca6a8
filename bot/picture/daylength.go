package picture

import (
	"fmt"
	"math"
	"strings"

	"shortday/knowledge/calendar"
)

// DayLength is the course of the day's length over a year.
type DayLength struct {
	Title, Note string
	From        calendar.Day
	Hours       []float64 // of each day from then on
	Today       calendar.Day
	Levels      []Level
	Spans       []Span
}

// Level is a length that matters, with the days on which the day passes it.
type Level struct {
	Name   string
	Hours  float64
	Passed []calendar.Day
}

// Span is a time in which the days are made by hand.
type Span struct {
	Name     string
	From, To calendar.Day
}

// Alt tells in words what the picture shows.
func (d DayLength) Alt() string {
	least, most := d.bounds()
	parts := []string{fmt.Sprintf("%s. The day is between %.1f and %.1f hours long", d.Title, least, most)}
	for _, l := range d.Levels {
		var days []string
		for _, on := range l.Passed {
			days = append(days, on.Annual().String())
		}
		if len(days) > 0 {
			parts = append(parts, fmt.Sprintf("it passes %.4g h (%s) on %s", l.Hours, l.Name, strings.Join(days, " and ")))
		}
	}
	for _, s := range d.Spans {
		parts = append(parts, fmt.Sprintf("%s from %s to %s", s.Name, s.From.Annual(), s.To.Annual()))
	}
	return clipped(strings.Join(parts, "; ") + ".")
}

func (d DayLength) bounds() (least, most float64) {
	least, most = 24, 0
	for _, h := range d.Hours {
		least, most = min(least, h), max(most, h)
	}
	return least, most
}

const curveHeight = 320

// Draw draws the curve.
func (d DayLength) Draw() ([]byte, error) {
	top := headHeight(d.Title, d.Note) + 24
	c := newCanvas(top + curveHeight + 34)
	c.head(d.Title, d.Note)
	across := axis{d.From, d.From.Add(max(1, len(d.Hours)-1)), border + 34, width - border}
	least, most := d.bounds()
	for _, l := range d.Levels {
		least, most = min(least, l.Hours), max(most, l.Hours)
	}
	floor, ceiling := max(0, math.Floor(least)), min(24, math.Ceil(most))
	if ceiling == floor {
		ceiling++
	}
	up := func(hours float64) float64 { return top + curveHeight*(ceiling-hours)/(ceiling-floor) }
	for _, s := range d.Spans {
		from, to := across.at(across.clip(s.From)), across.at(across.clip(s.To))
		c.box(from, top, max(1, to-from), curveHeight, pale)
		c.text((from+to)/2, top+curveHeight-12, small, middle, true, ink, s.Name)
	}
	across.months(c, top, top+curveHeight)
	for h := floor; h <= ceiling; h += max(1, math.Round((ceiling-floor)/10)) {
		c.line(border+34, up(h), width-border, up(h), 1, hair)
		c.text(border+28, up(h), small, right, false, faint, fmt.Sprintf("%.0f h", h))
	}
	xs, ys := make([]float64, len(d.Hours)), make([]float64, len(d.Hours))
	for i, h := range d.Hours {
		xs[i], ys[i] = across.at(d.From.Add(i)), up(h)
	}
	c.path(xs, ys, 2.4, blue)
	for _, l := range d.Levels {
		c.level(across, l, up)
	}
	across.today(c, d.Today, top, top+curveHeight)
	return c.png()
}

func (c *canvas) level(across axis, l Level, up func(float64) float64) {
	y := up(l.Hours)
	c.dashed(across.left, y, across.right, y, 1.4, vermilion)
	c.text(across.left+6, y-9, small, left, false, ink, fmt.Sprintf("%.4g h: %s", l.Hours, l.Name))
	for i, on := range l.Passed {
		x := across.at(across.clip(on))
		c.ring(x, y, 4.5, true, vermilion)
		align, off := right, -8.0
		if i > 0 {
			align, off = left, 8
		}
		c.text(x+off, y-10, small, align, true, ink, on.Annual().String())
	}
}
