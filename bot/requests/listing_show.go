package requests

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/listing"
	"shortday/knowledge/register"
)

// stockFile shows what was understood of a list that was brought, line by line, and keeps it to be entered.
func (c counter) stockFile(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if told(in, "file", "new", "for") {
		return bot.Reply{}, fault.New(fault.Unclear, "With file: the list says what is entered. Leave the other fields out, but for new: and for:, and send it again.")
	}
	file := in.File("file")
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	fresh := in.Yes("new")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if kind, table, ok, err := c.otherKind(file.Data); err != nil || ok {
		if err == nil && fresh {
			err = fault.New(fault.Unclear, "%s is a list of %s, and new: goes with plants. Leave it out and send it again.", clipped(file.Name), kind.many)
		}
		if err != nil {
			return bot.Reply{}, err
		}
		return c.kindShown(ctx, in, actor, own, kind, table, file)
	}
	g, err := c.grasp(ctx, in, own, file.Data, in.Today())
	if err != nil {
		return bot.Reply{}, err
	}
	can, lacking := g.count(toEnter), g.count(noVariety)
	reply := bot.Reply{Title: clipped(file.Name) + ": " + canBe(can, len(g.lines)), Private: true, Text: paragraphs(recordedAs(own, actor), columnsOf(g.table, stockColumns()), g.counts(), yet(can+lacking))}
	lines := make([]shownLine, len(g.lines))
	for i, l := range g.lines {
		lines[i] = shownLine{l.row.Line, l.verdict, l.what()}
	}
	showLines(&reply, file.Name, lines)
	if can+lacking == 0 {
		return reply, nil
	}
	id, err := c.reg.KeepListing(ctx, actor, clipped(file.Name), file.Data)
	if err != nil {
		return bot.Reply{}, err
	}
	pairs := []string{"list", strconv.FormatInt(id, 10)}
	if fresh {
		pairs = append(pairs, "new", "yes")
	}
	if can > 0 {
		reply.Next = append(reply.Next, bot.Next{Label: "Enter " + plural(can, "batch", "batches"), Request: bot.Typed("/stock add", pairs...)})
	}
	if lacking > 0 {
		label := fmt.Sprintf("Add %s too, and enter %s", plural(len(g.lacking()), "variety", "varieties"), plural(can+lacking, "batch", "batches"))
		reply.Next = append(reply.Next, bot.Next{Label: label, Request: bot.Typed("/stock add", append(slices.Clone(pairs), "varieties", "yes")...)})
	}
	return reply, nil
}

func yet(left int) string {
	if left == 0 {
		return "There is nothing to enter."
	}
	return "Nothing is entered yet."
}

func canBe(can, all int) string {
	if all == 0 {
		return "no lines below the first"
	}
	return fmt.Sprintf("%d of %s can be entered", can, plural(all, "line", "lines"))
}

func recordedAs(own register.Member, actor register.Actor) string {
	if actor.For == 0 || actor.For == actor.Member {
		return ""
	}
	return "They are to be " + own.Name + "'s."
}

// columnsOf tells what each column was taken for, and which were passed over.
func columnsOf(table listing.Table, columns []listing.Column) string {
	var taken []string
	for _, c := range columns {
		if head := cleanCell(table.Cell(table.Head, c.Name)); head != "" && strings.EqualFold(head, c.Name) {
			taken = append(taken, c.Name)
		} else if head != "" {
			taken = append(taken, fmt.Sprintf("%s (from %q)", c.Name, clipped(head)))
		}
	}
	text := "Columns understood: " + listed(taken) + "."
	if len(table.Unknown) == 0 {
		return text
	}
	var over []string
	for _, head := range table.Unknown {
		over = append(over, strconv.Quote(clipped(cleanCell(head))))
	}
	return text + " Passed over: " + some(over, 8) + "."
}

// counts tells how many lines there are of what.
func (g grasped) counts() string {
	var told []string
	if n := g.count(isThere); n > 0 {
		told = append(told, plural(n, "line is there already.", "lines are there already."))
	}
	if n := g.count(noVariety); n > 0 {
		told = append(told, fmt.Sprintf("%s of varieties that the co-op does not keep yet: %s.", plural(n, "line is", "lines are"), some(g.lacking(), 10)))
	}
	if n := g.count(notGrasped); n > 0 {
		told = append(told, plural(n, "line was not understood", "lines were not understood")+". Put the list right there and send it again; what was entered before is not entered twice.")
	}
	return sentences(told)
}

// lacking gives the varieties that the list has and the co-op does not.
func (g grasped) lacking() (names []string) {
	for _, l := range g.lines {
		if l.verdict == noVariety && !slices.Contains(names, l.variety) {
			names = append(names, l.variety)
		}
	}
	return names
}

// What a reply shows of a list before it attaches the rest.
const (
	mostLines = 40
	goodLines = 10
)

// shownLine is a line of a list with what becomes of it.
type shownLine struct {
	line    int
	verdict verdict
	what    string
}

// showLines puts the lines into the rows; of a long list first those that need looking at, with the whole of it as a file.
func showLines(reply *bot.Reply, name string, lines []shownLine) {
	reply.Rows.Columns = bot.Columns("line", "verdict", "what")
	long, good := len(lines) > mostLines, 0
	var rows [][]string
	for _, l := range lines {
		rows = append(rows, []string{strconv.Itoa(l.line), string(l.verdict), l.what})
		wants := !long || l.verdict == notGrasped
		if !wants && good < goodLines {
			good, wants = good+1, true
		}
		if wants && len(reply.Rows.Rows) < mostLines {
			reply.Rows.Add(bot.Whole(l.line), bot.Text(string(l.verdict)), bot.Text(l.what))
		}
	}
	if !long {
		return
	}
	reply.Text = paragraphs(reply.Text, fmt.Sprintf("%d of the %d lines are shown here; the file has them all.", len(reply.Rows.Rows), len(lines)))
	reply.Files = append(reply.Files, bot.File{Name: strings.TrimSuffix(name, ".csv") + " line by line.csv", Type: "text/csv",
		Alt: "what becomes of each line of the list", Data: listing.Write([]string{"line", "verdict", "what"}, rows)})
}

// what tells what a line was understood as, else why it was not.
func (l line) what() string {
	if l.verdict == notGrasped || l.verdict == isThere {
		return l.why
	}
	text := fmt.Sprintf("%s of %s, %s", plants(l.stock.Count, l.stock.Stage), l.variety, l.stock.Stage)
	if !l.stock.Since.IsZero() {
		text += " since " + l.stock.Since.Long()
	}
	if l.stock.Spot != "" {
		text += ", " + l.stock.Spot
	}
	if len(l.also) > 0 {
		text += "; " + strings.Join(l.also, "; ")
	}
	return text
}

// day of a list is that on which it was brought: a day without a year means the same when it is entered later.
func broughtOn(in *bot.In, l register.Listing) calendar.Day {
	return calendar.DayAt(l.At.In(in.At.Location()))
}
