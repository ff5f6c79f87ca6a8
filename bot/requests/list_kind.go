package requests

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/listing"
	"shortday/knowledge/register"
)

// listKind is a kind of list beside that of plants. Each of its lines is a request, whose fields its columns are named by.
type listKind struct {
	one, many string           // what a line is
	path      string           // the request
	of        bot.Family       // whose it is
	columns   []listing.Column // the first has to be there
	tells     []string         // columns by which it is told from other kinds
	with      []bot.Entry      // what each line is told beside its own
	back      string           // how to take back what was entered
	then      bot.Next         // what is offered after that
	// ready reads what is known already, by the lines' keys, and gives how a line is looked at.
	ready func(ctx context.Context, in *bot.In, own register.Member) (known map[string]bool, look lookAt, err error)
}

// lookAt tells what a line is without entering anything.
type lookAt func(ctx context.Context, in *bot.In) (lineOf, error)

// lineOf is a line of such a list, as it was understood.
type lineOf struct {
	key  string // of two lines with the same key one is enough
	what string
	past bool     // it is over, and nothing is left to enter
	drop []string // fields that are passed over
}

// isPast is the verdict on what is over.
const isPast verdict = "is over"

// listKinds are those that are known; where a list could be of several, the first counts.
func (c counter) listKinds() []listKind {
	return []listKind{c.targetLines(), c.stopLines(), c.bloomLines(), c.pickingLines(), c.noteLines(), c.varietyLines()}
}

// otherKind tells what kind of list this is; ok is false for a list of plants, and for what is no list at all.
func (c counter) otherKind(data []byte) (kind listKind, table listing.Table, ok bool, err error) {
	if table, err := listing.Read(data, stockColumns()); err == nil && table.Has("count") {
		return listKind{}, table, false, nil
	}
	for _, kind := range c.listKinds() {
		table, err := listing.Read(data, kind.columns)
		if err == nil && !slices.ContainsFunc(kind.tells, func(column string) bool { return !table.Has(column) }) {
			return kind, table, true, nil
		}
	}
	if table, err := listing.Read(data, datesColumns()); err == nil && table.Has("job") && table.Has("due") {
		return kind, table, false, fault.New(fault.Unclear, "These dates follow from targets and from what was done. Bring the targets, and every date is reckoned anew.")
	}
	return kind, table, false, nil
}

// request gives the request that each line is.
func (k listKind) request() bot.Request {
	i := slices.IndexFunc(k.of.Requests, func(r bot.Request) bool { return k.of.Path(r) == k.path })
	return k.of.Requests[i]
}

// line makes a request of a line of the list. Days that leave the year open are read as on the given day.
func (k listKind) line(in *bot.In, table listing.Table, row listing.Row, on calendar.Day) *bot.In {
	r := k.request()
	fields := slices.Clone(k.with)
	for _, column := range k.columns {
		cell := table.Cell(row, column.Name)
		if cell == "" {
			continue
		}
		f, _ := r.Field(column.Name)
		switch day, err := in.Reader(on).Read(cleanCell(cell), f.Sense); {
		case err != nil:
		case f.Kind == bot.DayKind:
			cell = day.String()
		case f.Kind == bot.AnnualKind: // a spreadsheet puts a year to it
			cell = day.Annual().String()
		}
		fields = append(fields, bot.Entry{Field: column.Name, Text: cell})
	}
	if _, ok := r.Field("for"); ok && in.Has("for") {
		fields = append(fields, bot.Entry{Field: "for", Text: in.Text("for")})
	}
	return in.As(k.path, r, fields)
}

// understood is a line with what becomes of it.
type understood struct {
	shownLine
	in *bot.In
}

// understand looks at each line of the list in its turn; do is called for one that can be entered.
func (k listKind) understand(ctx context.Context, in *bot.In, own register.Member, table listing.Table, on calendar.Day, do func(understood) error) (all []shownLine, err error) {
	known, look, err := k.ready(ctx, in, own)
	if err != nil {
		return nil, err
	}
	for _, row := range table.Rows {
		u := understood{shownLine: shownLine{line: row.Line, verdict: toEnter}, in: k.line(in, table, row, on)}
		l, err := look(ctx, u.in)
		if err = first(u.in.Err(), err); fault.KindOf(err) == fault.Internal {
			return nil, err
		}
		u.what = l.what
		switch refusal, refused := errors.AsType[*fault.Error](err); {
		case table.Beyond(row):
			u.verdict, u.what = notGrasped, beyondHead
		case refused:
			u.verdict, u.what = notGrasped, refusal.Text
		case known[l.key]:
			u.verdict = isThere
		case l.past:
			u.verdict = isPast
		default:
			known[l.key] = true
			u.in.Fields = slices.DeleteFunc(u.in.Fields, func(e bot.Entry) bool { return slices.Contains(l.drop, e.Field) })
			if err := do(u); err != nil {
				return nil, err
			}
		}
		all = append(all, u.shownLine)
	}
	return all, nil
}

// kindShown shows what was understood of a list, and keeps it to be entered.
func (c counter) kindShown(ctx context.Context, in *bot.In, actor register.Actor, own register.Member, k listKind, table listing.Table, file bot.File) (bot.Reply, error) {
	can := 0
	lines, err := k.understand(ctx, in, own, table, in.Today(), func(understood) error { can++; return nil })
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: clipped(file.Name) + ": " + canBe(can, len(lines)), Private: true,
		Text: paragraphs(k.taken(table), countedLines(lines), yet(can))}
	showLines(&reply, file.Name, lines)
	if can == 0 {
		return reply, nil
	}
	id, err := c.reg.KeepListing(ctx, actor, clipped(file.Name), file.Data)
	reply.Next = []bot.Next{{Label: "Enter " + plural(can, k.one, k.many), Request: bot.Typed("/stock add", "list", strconv.FormatInt(id, 10))}}
	return reply, err
}

// taken tells what the list was taken for.
func (k listKind) taken(table listing.Table) string {
	return "This is a list of " + k.many + ". " + columnsOf(table, k.columns)
}

// countedLines tells how many lines there are of what cannot be entered.
func countedLines(lines []shownLine) string {
	counts := map[verdict]int{}
	for _, l := range lines {
		counts[l.verdict]++
	}
	var told []string
	if n := counts[isThere]; n > 0 {
		told = append(told, plural(n, "line is there already.", "lines are there already."))
	}
	if n := counts[isPast]; n > 0 {
		told = append(told, plural(n, "line is over: its day is past.", "lines are over: their days are past."))
	}
	if n := counts[notGrasped]; n > 0 {
		told = append(told, plural(n, "line was not understood", "lines were not understood")+". Put the list right there and send it again; what was entered before is not entered twice.")
	}
	return sentences(told)
}

// kindEntered enters what was understood of a list, all of it or nothing.
func (c counter) kindEntered(ctx context.Context, in *bot.In, actor register.Actor, own register.Member, k listKind, table listing.Table, l register.Listing) (bot.Reply, error) {
	if told(in, "list", "for") {
		return bot.Reply{}, fault.New(fault.Unclear, "%s is a list of %s; new:, varieties: and undo: go with plants. Leave them out and send it again.", l.Name, k.many)
	}
	r, done := k.request(), 0
	_, err := k.understand(ctx, in, own, table, broughtOn(in, l), func(u understood) error {
		reply, err := r.Handle(ctx, u.in)
		if err = first(err, u.in.Err()); err == nil && reply.Refusal != nil {
			err = fault.New(reply.Refusal.Kind, "%s", reply.Refusal.Text)
		}
		if err != nil {
			return inLine(u.line, err)
		}
		if done++; in.Progress != nil && done%100 == 0 {
			in.Progress(done, len(table.Rows))
		}
		return nil
	})
	if err != nil {
		return bot.Reply{}, err
	}
	if done == 0 {
		return bot.Reply{}, fault.New(fault.Taken, "Nothing of %s is left to enter.", l.Name)
	}
	return bot.Reply{Title: l.Name + ": " + plural(done, k.one, k.many) + " entered", Private: true, Text: recordedFor(own, actor) + k.back, Next: []bot.Next{k.then}},
		c.reg.ListingEntered(ctx, actor, l.ID)
}

// inLine names the line in which a refused one stands.
func inLine(line int, err error) error {
	if refusal, ok := errors.AsType[*fault.Error](err); ok {
		return fault.New(refusal.Kind, "Line %d: %s Nothing was entered.", line, refusal.Text).Because(err)
	}
	return fmt.Errorf("line %d of a list: %w", line, err)
}
