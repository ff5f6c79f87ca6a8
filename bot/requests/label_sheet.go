package requests

import (
	"fmt"
	"strconv"
	"time"

	"shortday/bot"
	"shortday/bot/lettering"
	"shortday/bot/paper"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// paperField is the paper that a member prints on.
func paperField() bot.Field {
	return bot.Field{Name: "paper", Help: "what you print on; if left out A4, or Letter where lengths are in inches", Kind: bot.ChoiceKind,
		Choices: []bot.Choice{{Label: "A4", Value: "a4"}, {Label: "Letter", Value: "letter"}}}
}

// sheetOf gives the paper that a field names, else that of the member's units.
func sheetOf(in *bot.In, seat register.Seat) paper.Sheet {
	switch chosen := in.Choice("paper"); {
	case chosen == "letter", chosen == "" && seat.Units() == register.US:
		return paper.Letter
	}
	return paper.A4
}

func labelSizeField() bot.Field {
	var sizes []bot.Choice
	for _, s := range paper.Sizes() {
		sizes = append(sizes, bot.Choice{Label: fmt.Sprintf("%s, %.0f × %.0f mm", s.Name, s.Width, s.Height), Value: s.Name})
	}
	return bot.Field{Name: "size", Help: "to have them as pages to print: for pots, for beds and trays, or for boxes", Kind: bot.ChoiceKind, Choices: sizes}
}

// printedLabels sets the labels of batches on pages: so many of each as are wanted, else one a pot or a box.
func printedLabels(in *bot.In, seat register.Seat, batches []register.Batch, copies int) (bot.Reply, error) {
	sheet, name := sheetOf(in, seat), in.Choice("size")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	size := paper.Sizes()[0]
	for _, s := range paper.Sizes() {
		if s.Name == name {
			size = s
		}
	}
	var all []paper.Label
	lacking := 0
	for _, b := range batches {
		n, _ := labelsFor(b)
		if size.Name == "box" {
			n = 1
		}
		if copies > 0 {
			n = copies
		}
		if _, whole := lettering.Writable(b.Name); !whole {
			lacking++
		}
		for range min(n, paper.MostLabels+1) {
			all = append(all, paper.Label{Name: b.Name, Mark: b.Mark, Below: strconv.Itoa(b.Made.Year())})
		}
	}
	if len(all) > paper.MostLabels {
		return bot.Reply{}, fault.New(fault.Unclear, "That makes more than %d labels. Name a batch: or a stage:, or give copies:.", paper.MostLabels)
	}
	data, err := paper.Labels(all, size, sheet, in.At)
	if err != nil {
		return bot.Reply{}, err
	}
	text := fmt.Sprintf("%s of %.0f × %.0f mm on %s, to cut along the lines. Print them at full size. The square holds the mark as plain text, for a telephone to read; the lines are for pencil.",
		plural(len(all), "label", "labels"), size.Width, size.Height, sheet)
	return bot.Reply{Title: "Labels", Text: paragraphs(text, lackingWords(lacking, "the mark tells the variety")), Private: true,
		Files: []bot.File{pdf("labels", in.At, plural(len(all), "label", "labels")+" to cut out", data)}}, nil
}

// lackingWords tells of names that could not be written; clue is what tells them all the same.
func lackingWords(n int, clue string) string {
	if n == 0 {
		return ""
	}
	return plural(n, "name is", "names are") + " in letters that the typeface does not have; the page says which letters in its place, and " + clue + "."
}

func pdf(name string, at time.Time, alt string, data []byte) bot.File {
	return bot.File{Name: name + "-" + at.Format(time.DateOnly) + ".pdf", Type: paper.Type, Alt: alt, Data: data}
}
