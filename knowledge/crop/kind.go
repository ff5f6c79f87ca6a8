// Package crop reckons the dates of a chrysanthemum's year: a plan backwards from a wanted bloom, a forecast forwards
// from what was done. It knows no storage and no clock.
package crop

import (
	"strings"

	"shortday/knowledge/fault"
)

// Kind is a step of the year. Its text is stored and typed, so it never changes.
type Kind string

// The steps, in the order of the year. Water and Feed come again and again (see CareOf), as do CheckStore and, for plants
// that stand apart or are held back, Look.
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
	House       Kind = "house"
	Ventilate   Kind = "ventilate"
	BudColour   Kind = "bud-colour"
	Pick        Kind = "pick"
	CutDown     Kind = "cut-down"
	Label       Kind = "label"
	Lift        Kind = "lift"
	Box         Kind = "box"
	CheckStore  Kind = "check-store"
	Water       Kind = "water"
	Feed        Kind = "feed"
	Look        Kind = "look"
)

// Hour is the part of the day in which a step is done.
type Hour string

// The parts of the day. A step that is done in the evening before another stands on the day before in a plan.
const (
	Morning Hour = "morning"
	Evening Hour = "evening"
)

type wording struct {
	kind Kind
	text string
	hour Hour
}

func wordings() []wording {
	return []wording{
		{Chill, "bring the stools into the cold", Morning},
		{WakeWater, "water the resting box", Evening},
		{Wake, "wake the stools", Morning},
		{CutWater, "water the stools before cutting", Morning},
		{Cut, "take cuttings", Morning},
		{Strike, "strike the cuttings", Morning},
		{Pot, "pot the rooted cuttings", Morning},
		{PotOn, "pot on", Morning},
		{HardenOff, "harden off", Morning},
		{PlantOut, "plant out", Morning},
		{RepotWater, "water before the final pot", Morning},
		{FinalPot, "move to the final pot", Morning},
		{Support, "set canes or netting", Morning},
		{Stop, "stop", Morning},
		{SecondStop, "stop a second time", Morning},
		{BlackOut, "begin black-out", Morning},
		{BlackOutEnd, "end black-out", Morning},
		{Light, "begin night lighting", Morning},
		{LightEnd, "end night lighting", Morning},
		{TakeBud, "take the bud", Morning},
		{Disbud, "disbud", Morning},
		{House, "bring under cover", Morning},
		{Ventilate, "ventilate fully for a week", Morning},
		{BudColour, "look for bud colour", Morning},
		{Pick, "pick", Morning},
		{CutDown, "cut down", Morning},
		{Label, "label", Morning},
		{Lift, "lift the stools", Morning},
		{Box, "box the stools", Morning},
		{CheckStore, "check the store", Morning},
		{Water, "water", Morning},
		{Feed, "feed", Morning},
		{Look, "look the plants over for pests", Morning},
	}
}

// Kinds gives every kind in the order of the year.
func Kinds() []Kind {
	table := wordings()
	kinds := make([]Kind, len(table))
	for i, w := range table {
		kinds[i] = w.kind
	}
	return kinds
}

// Name gives the step in short, as tables show it and people type it: "pot on", "stop", "water box".
func (k Kind) Name(pinch bool) string {
	name := strings.ReplaceAll(string(k), "-", " ")
	if pinch {
		name = strings.Replace(name, "stop", "pinch", 1)
	}
	return name
}

// Phrase gives the step as an instruction: "wake the stools". "Pinch" takes the place of "stop" where the co-op says so.
func (k Kind) Phrase(pinch bool) string {
	for _, w := range wordings() {
		if w.kind == k {
			if pinch && (k == Stop || k == SecondStop) {
				return strings.Replace(w.text, "stop", "pinch", 1)
			}
			return w.text
		}
	}
	return string(k)
}

// Hour gives the part of the day in which the step is done.
func (k Kind) Hour() Hour {
	for _, w := range wordings() {
		if w.kind == k {
			return w.hour
		}
	}
	return Morning
}

// ReadKind reads a step as people type it: "pot on", "pinch", "plant-out".
func ReadKind(text string) (Kind, error) {
	word := strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(text, "-", " "))), "-")
	word = strings.Replace(word, "pinch", "stop", 1)
	for _, w := range wordings() {
		if string(w.kind) == word || strings.ReplaceAll(w.text, " ", "-") == word {
			return w.kind, nil
		}
	}
	return "", fault.New(fault.Unclear, "There is no step called %q. Steps are %s.", text, list(Kinds()))
}

func list(kinds []Kind) string {
	words := make([]string, len(kinds))
	for i, k := range kinds {
		words[i] = string(k)
	}
	return strings.Join(words, ", ")
}

// Needs gives the step that the plants must have come through before this one; "" where there is none.
func (k Kind) Needs() Kind {
	switch k {
	case CutWater, Cut:
		return Wake
	case Strike:
		return Cut
	case Pot:
		return Strike
	case PotOn, HardenOff, RepotWater, FinalPot, PlantOut, Support, Stop:
		return Pot
	case SecondStop:
		return Stop
	case Lift:
		return CutDown
	case Box:
		return Lift
	}
	return ""
}
