package register

import (
	"fmt"
	"strings"

	"shortday/knowledge/calendar"
)

// left names a member whose name is kept no more.
const left = "a member who left"

func nameOr(name string) string {
	if name == "" {
		return left
	}
	return name
}

// What says what changes hands: "4 rooted cuttings of Gilt".
func (s Swap) What() string { return s.Stock.Of(s.units()) + " of " + s.Name }

// units gives how many there are by the last word.
func (s Swap) units() int {
	switch s.State {
	case HandedOver:
		return s.Given
	case Arrived:
		return s.Received
	}
	return s.Number
}

// Sentence says who gives what to whom: "Piet gives Nora 4 rooted cuttings of Gilt".
func (s Swap) Sentence() string {
	return fmt.Sprintf("%s gives %s %s", nameOr(s.GiverName), nameOr(s.ToName), s.What())
}

// When says on which days a swap can be handed over.
func (s Swap) When() string { return Between(s.First, s.Last) }

// Between writes days from a first to a last, both included.
func Between(first, last calendar.Day) string {
	if first == last {
		return "on " + first.Long()
	}
	return "from " + first.Long() + " to " + last.Long()
}

// What says what is wanted: "Gilt", "any late spray in white", "any like Gilt".
func (w Want) What() string {
	if w.Variety != 0 {
		return w.Name
	}
	words := []string{"any"}
	for _, word := range []string{string(w.Season), string(w.Form)} {
		if word != "" {
			words = append(words, word)
		}
	}
	if w.Like != 0 {
		words = append(words, "like", w.LikeOf)
	}
	if w.Colour != "" {
		words = append(words, "in", w.Colour)
	}
	return strings.Join(words, " ")
}

// Sentence says what a variety is at risk of.
func (k Risk) Sentence() string {
	text := fmt.Sprintf("%s is kept by %s alone, %d stools and plants.", k.Name, k.Only, k.Plants)
	switch {
	case k.Only == "":
		text = fmt.Sprintf("%s is down to %d stools and plants in the whole co-op.", k.Name, k.Plants)
	case k.Plants == 1:
		text = fmt.Sprintf("%s is kept by %s alone, 1 stool or plant.", k.Name, k.Only)
	}
	if k.Plants == 0 {
		text = fmt.Sprintf("Of %s there are cuttings alone, no stools or plants.", k.Name)
	}
	if len(k.Could) > 0 {
		text += " A second batch could stand with " + strings.Join(k.Could, " or ") + "."
	}
	return text
}
