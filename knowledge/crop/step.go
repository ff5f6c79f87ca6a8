// Package crop reckons the dates of a chrysanthemum's year: a plan backwards from a wanted bloom, a forecast forwards
// from what was done. It knows no storage and no clock.
package crop

import "shortday/knowledge/calendar"

// Kind is a step of the year. Its text is stored and typed, so it never changes.
type Kind string

// The steps, in the order of the year.
const (
	Chill       Kind = "chill"
	WakeWater   Kind = "water-box"
	Wake        Kind = "wake"
	CutWater    Kind = "water-stools"
	Cut         Kind = "cut"
	Strike      Kind = "strike"
	Pot         Kind = "pot"
	PotOn       Kind = "pot-on"
	HardenOff   Kind = "harden-off"
	PlantOut    Kind = "plant-out"
	RepotWater  Kind = "water-pots"
	FinalPot    Kind = "final-pot"
	Support     Kind = "support"
	Stop        Kind = "stop"
	SecondStop  Kind = "second-stop"
	BlackOut    Kind = "black-out"
	BlackOutEnd Kind = "black-out-end"
	Light       Kind = "light"
	LightEnd    Kind = "light-end"
	TakeBud     Kind = "take-bud"
	Disbud      Kind = "disbud"
	Ventilate   Kind = "ventilate"
	House       Kind = "house"
	BudColour   Kind = "bud-colour"
	Pick        Kind = "pick"
	CutDown     Kind = "cut-down"
	Label       Kind = "label"
	Lift        Kind = "lift"
	Box         Kind = "box"
	// Recurring care, reckoned by Care and never stored ahead.
	CheckStore Kind = "check-store"
	Water      Kind = "water"
	Feed       Kind = "feed"
)

// Step is one step of a plan.
type Step struct {
	Kind   Kind
	Window calendar.Window // one day where Done
	Done   bool
	Rule   string // what it follows from, in words: "21–31 days before cuttings are wanted"
	Source string // where the rule was read
	// LastSafe is the last day on which the step still serves; zero where there is none. Lost says what is lost after it.
	LastSafe calendar.Day
	Lost     string
	Clock    string // clock times where the step has some: "17:00–07:00"
}
