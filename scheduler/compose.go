package scheduler

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
)

// Subject is what a notice is to be made of. Its text is found when it is told, so that it says how things stand then.
type Subject struct {
	Kind   Kind
	Coop   int64
	Member int64          // 0: the group
	Day    calendar.Day   // the local day struck, or that of the tiding
	Missed []calendar.Day // the days before it that were missed and go with it
	Tiding register.Tiding
}

// Kind is what a notice is. Its text is stored and never changes.
type Kind string

// The kinds: the group's notice of a day, a member's reminders of a morning and of an evening, and a tiding.
const (
	Daily   Kind = "notice"
	Morning Kind = "morning"
	Evening Kind = "evening"
	Told    Kind = "tiding"
)
