package crop

import "shortday/knowledge/calendar"

// Backwards reckons the plan of a target: every step that leads to the bloom wanted, moved by what was done.
// With no target it reckons the year that keeps the variety: boxed, woken, a few cuttings, and boxed again.
// today decides which season is meant where nothing was done yet, and what is already too late.
func Backwards(c Case, today calendar.Day) Plan { return Plan{} }

// Forwards forecasts the bloom from what was done alone, without a target.
func Forwards(c Case, today calendar.Day) Forecast { return Forecast{} }

// Care reckons one recurring job of plants at a stage.
type Care struct {
	Kind         Kind
	Every        int          // days
	Next         calendar.Day // when it is due next
	When         string       // hour of the day where it matters: "morning"
	Rule, Source string
}

// CareOf gives the recurring jobs of plants at a stage since a day, given when each was last done (zero Day: never).
func CareOf(stage Stage, since calendar.Day, last func(Kind) calendar.Day) []Care { return nil }
