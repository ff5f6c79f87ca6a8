package picture

import "shortday/knowledge/calendar"

// axis lays days along the width.
type axis struct {
	from, to    calendar.Day // both shown
	left, right float64
}

func (a axis) at(d calendar.Day) float64 {
	days := max(1, a.to.Sub(a.from))
	return a.left + (a.right-a.left)*float64(d.Sub(a.from))/float64(days)
}

// clip keeps a day within the axis.
func (a axis) clip(d calendar.Day) calendar.Day { return min(max(d, a.from), a.to) }

// months draws a line and a name at the first of each month, between two heights.
func (a axis) months(c *canvas, top, bottom float64) {
	last := a.left - 100
	for d := a.from; d <= a.to; d++ {
		t := d.UTC()
		if t.Day() != 1 {
			continue
		}
		x := a.at(d)
		c.line(x, top, x, bottom, 1, hair)
		name := t.Format("Jan")
		if t.Month() == 1 || last < a.left {
			name = t.Format("Jan 2006")
		}
		if x-last > c.wide(small, false, name)+6 && x+c.wide(small, false, name) < a.right+border {
			c.text(x+3, top-8, small, left, false, faint, name)
			last = x
		}
	}
}

// today draws the day of asking where it lies on the axis.
func (a axis) today(c *canvas, today calendar.Day, top, bottom float64) {
	if today < a.from || today > a.to {
		return
	}
	x := a.at(today)
	c.dashed(x, top, x, bottom, 1.4, ink)
	c.text(min(x, a.right-20), bottom+9, small, middle, true, ink, "today")
}
