package scheduler

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
)

// GroupNotice makes a group's notice of open jobs alone; next is the day of the notice after it.
func GroupNotice(open []register.OpenJob, day, next calendar.Day, weekAhead int) Notice {
	d := group{set: register.NoticeSetting{WeekAhead: weekAhead}, span: span{day, next}}
	d.sort(open, nil)
	n, _ := d.fit(Notice{Title: "Tallow Lane Growers, " + day.Long(), Day: day})
	if len(d.parts) == 0 && len(d.week) == 0 {
		n.Text = ""
	}
	return n
}

// Fits reports whether a notice fits one screen.
func (n Notice) Fits() bool { return n.fits() }
