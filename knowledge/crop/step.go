package crop

import "shortday/knowledge/calendar"

// Step is one step of a plan.
type Step struct {
	Kind   Kind
	Window calendar.Window // one day where Done
	Done   bool
	Basis  Basis  // what its day rests on
	Rule   string // what it follows from, in words: "21–31 days before cuttings are wanted"
	Source string // where the rule was read
	// LastSafe is the last day on which the step still serves; zero where there is none. Lost says what is lost after it.
	LastSafe calendar.Day
	Lost     string
	Clock    string // clock times where the step has some: "17:00–07:00"
}
