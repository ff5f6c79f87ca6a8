package requests

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/rivo/uniseg"

	"shortday/bot"
	"shortday/bot/paper"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// A label of 12 cm takes three lines of letters half a centimetre wide, common practice: the name on two of them, the
// mark and the year on the third.
const (
	labelWidth = 24
	nameLines  = 2
)

func (c counter) stockLabel(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	batch := c.batch(ctx, in, seat.Coop.ID, "batch")
	v := c.variety(ctx, in, seat.Coop.ID, seat.Member, "variety")
	stage := crop.Stage(in.Choice("stage"))
	size, copies := in.Choice("size"), in.Whole("copies")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	batches := []register.Batch{batch}
	if batch.ID == 0 {
		var err error
		if batches, err = c.holdersBatches(ctx, seat, seat.Member, v.ID, false); err != nil {
			return bot.Reply{}, err
		}
		batches = atStage(batches, stage)
	}
	if len(batches) == 0 {
		return bot.Reply{Title: "Labels", Text: "You have no such plants to label. /stock add enters plants that you have.", Private: true}, nil
	}
	if size != "" || in.Has("paper") || copies > 0 {
		return printedLabels(in, seat, batches, copies)
	}
	reply := labels(batches)
	for _, s := range paper.Sizes() {
		reply.Next = append(reply.Next, bot.Next{Label: "Print them, for a " + s.Name, Request: bot.Typed("/stock label", "batch", in.Text("batch"), "variety", in.Text("variety"), "stage", string(stage), "size", s.Name)})
	}
	return reply, nil
}

func labels(batches []register.Batch) bot.Reply {
	reply := bot.Reply{Title: "Labels", Private: true, Rows: bot.Table{Columns: bot.Columns("mark", "labels", "for")}}
	var texts []string
	sum, short := 0, false
	for _, b := range batches {
		lines, shortened := label(b)
		texts = append(texts, strings.Join(lines, "\n"))
		short = short || shortened
		n, what := labelsFor(b)
		sum += n
		reply.Rows.Add(bot.Text(b.Mark), bot.Whole(n), bot.Text(what))
	}
	texts = append(texts, fmt.Sprintf("%s in all: at most %d lines of %d letters, which a 12 cm label takes. Write in pencil: it outlasts marker ink.",
		plural(sum, "label", "labels"), nameLines+1, labelWidth))
	if short {
		texts = append(texts, "A name too long for the label is shortened there with …; the mark tells which it is.")
	}
	reply.Text = paragraphs(texts...)
	return reply
}

// labelsFor counts a label for each pot or plant, and one for what stands together in a box or a tray.
func labelsFor(b register.Batch) (n int, what string) {
	switch b.Stage {
	case crop.Boxed, crop.Woken:
		return 1, "the box"
	case crop.Taken, crop.Struck:
		return 1, "the tray"
	case crop.Potted:
		return b.Count, "each pot"
	}
	return b.Count, "each plant"
}

// label gives the lines of a batch's label, and whether the name had to be shortened.
func label(b register.Batch) (lines []string, shortened bool) {
	lines, shortened = fitted(b.Name)
	return append(lines, b.Mark+"  "+strconv.Itoa(b.Made.Year())), shortened
}

// fitted breaks a name at blanks into at most nameLines of labelWidth; what does not fit ends in an ellipsis.
func fitted(name string) (lines []string, shortened bool) {
	line := ""
	for _, word := range strings.Fields(name) {
		switch {
		case line == "":
			line = word
		case uniseg.StringWidth(line+" "+word) <= labelWidth:
			line += " " + word
		case len(lines) == nameLines-1:
			line += " " + word // too long: cut below
		default:
			lines, line = append(lines, line), word
		}
	}
	lines = append(lines, line)
	for i, line := range lines {
		if uniseg.StringWidth(line) > labelWidth {
			lines[i], shortened = cut(line, labelWidth-1)+"…", true
		}
	}
	return lines, shortened
}

// cut gives the beginning of a text that is so many cells wide at most, without a blank at its end.
func cut(text string, width int) string {
	var b strings.Builder
	used := 0
	for g := uniseg.NewGraphemes(text); g.Next(); {
		if used += g.Width(); used > width {
			break
		}
		b.WriteString(g.Str())
	}
	return strings.TrimRight(b.String(), " ")
}
