package picture

import (
	"fmt"
	"strings"

	"shortday/knowledge/calendar"
)

// Count is how a batch's number came about, deed by deed.
type Count struct {
	Title, Note string
	Deeds       []CountDeed
}

// CountDeed is one deed and by how much it changed the number.
type CountDeed struct {
	Name  string
	On    calendar.Day
	Delta int
}

// Alt tells in words what the picture shows.
func (k Count) Alt() string {
	var deeds []string
	sum := 0
	for _, d := range k.Deeds {
		sum += d.Delta
		deeds = append(deeds, fmt.Sprintf("%s %+d on %s makes %d", d.Name, d.Delta, d.On.Annual(), sum))
	}
	return clipped(k.Title + ". " + strings.Join(deeds, "; ") + ".")
}

const (
	deedLane  = 24
	deedNames = 250
)

// Draw draws a row a deed, whose bar reaches from the number before it to the number after.
func (k Count) Draw() ([]byte, error) {
	top := headHeight(k.Title, k.Note) + 4
	c := newCanvas(top + float64(len(k.Deeds)+1)*deedLane + border)
	c.head(k.Title, k.Note)
	most, sum := 1, 0
	for _, d := range k.Deeds {
		sum += d.Delta
		most = max(most, sum, sum-d.Delta)
	}
	const from = border + deedNames
	across := func(n int) float64 { return from + (width-border-60-from)*float64(n)/float64(most) }
	c.line(across(0), top, across(0), top+float64(len(k.Deeds)+1)*deedLane, 1, hair)
	sum = 0
	for i, d := range k.Deeds {
		y := top + float64(i)*deedLane + deedLane/2
		before := sum
		sum += d.Delta
		c.text(border, y, small, left, false, faint, d.On.String())
		c.text(border+80, y, body, left, false, ink, d.Name)
		low, high, of := across(min(before, sum)), across(max(before, sum)), green
		if d.Delta < 0 {
			of = vermilion
		}
		c.box(low, y-7, max(2, high-low), 14, of)
		c.text(high+6, y, small, left, true, ink, fmt.Sprintf("%+d", d.Delta))
		c.line(across(sum), y+7, across(sum), y+deedLane-7, 1, faint)
	}
	y := top + float64(len(k.Deeds))*deedLane + deedLane/2
	c.text(border+80, y, body, left, true, ink, "there are now")
	c.box(across(0), y-7, across(sum)-across(0), 14, blue)
	c.text(across(sum)+6, y, small, left, true, ink, fmt.Sprintf("%d", sum))
	return c.png()
}
