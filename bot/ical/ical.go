// Package ical writes days and hours as an iCalendar file (RFC 5545) that calendars can import or subscribe to. Which days there
// are, and in what words, it leaves to its caller.
package ical

import (
	"bytes"
	"fmt"
	"time"

	ics "github.com/arran4/golang-ical"

	"shortday/knowledge/calendar"
)

// Type is the media type of what Write gives.
const Type = "text/calendar"

// Calendar is a name with its days.
type Calendar struct {
	Name   string
	Stamp  time.Time // when it was written
	Events []Event
}

// Event is one whole day, or an instant, which each reader's calendar shows by its own clock. The UID stays the same
// whatever becomes of it; Sequence grows with every change of day or state, so that a second import moves what the first
// brought.
type Event struct {
	UID         string
	Sequence    int
	Day         calendar.Day
	At          time.Time // in place of a whole day
	Title       string
	Place       string
	Description string
	Cancelled   bool
	Done        bool
	Alarm       Alarm
}

// Alarm is when a calendar calls to an event.
type Alarm string

// The alarms. The evening is at 18:00 in whatever zone the reader is.
const (
	NoAlarm       Alarm = ""
	EveningBefore Alarm = "-PT6H"
	SameEvening   Alarm = "PT18H"
	HourBefore    Alarm = "-PT1H" // of an instant
)

// Write gives the file: UTF-8, lines ended by CR LF and folded at 75 octets.
func Write(c Calendar) ([]byte, error) {
	cal := ics.NewCalendarFor("shortday")
	cal.SetProductId("-//Shortday//EN")
	cal.SetMethod(ics.MethodPublish)
	cal.SetXWRCalName(c.Name)
	for _, e := range c.Events {
		add(cal, e, c.Stamp)
	}
	var out bytes.Buffer
	if err := cal.SerializeTo(&out, ics.WithNewLineWindows); err != nil {
		return nil, fmt.Errorf("writing a calendar: %w", err)
	}
	return out.Bytes(), nil
}

func add(cal *ics.Calendar, e Event, stamp time.Time) {
	event := cal.AddEvent(e.UID)
	event.SetDtStampTime(stamp.UTC())
	event.SetSequence(e.Sequence)
	event.SetSummary(e.Title)
	if e.At.IsZero() {
		event.SetAllDayStartAt(e.Day.UTC())
		event.SetAllDayEndAt(e.Day.Add(1).UTC())               // the end is the first day that is not of it
		event.SetTimeTransparency(ics.TransparencyTransparent) // a job leaves the grower free
	} else {
		event.SetStartAt(e.At) // in UTC; without an end, since how long it takes is not known
		event.SetTimeTransparency(ics.TransparencyOpaque)
	}
	if e.Place != "" {
		event.SetLocation(e.Place)
	}
	if e.Description != "" {
		event.SetDescription(e.Description)
	}
	event.SetStatus(ics.ObjectStatusConfirmed)
	if e.Cancelled {
		event.SetStatus(ics.ObjectStatusCancelled)
	}
	if e.Alarm == NoAlarm || e.Cancelled || e.Done {
		return
	}
	alarm := event.AddAlarm()
	alarm.SetAction(ics.ActionDisplay)
	alarm.SetTrigger(string(e.Alarm))
	alarm.SetProperty(ics.ComponentPropertyDescription, e.Title)
}
