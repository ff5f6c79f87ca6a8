package requests

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/listing"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// stockListed enters a list that was shown, or takes back what was entered from one.
func (c counter) stockListed(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if told(in, "list", "new", "varieties", "undo") {
		return bot.Reply{}, fault.New(fault.Unclear, "With list: go new:, varieties: and undo: alone. Leave the other fields out and send it again.")
	}
	seat := c.seat(ctx, in)
	id, fresh, added, undo := int64(in.Whole("list")), in.Yes("new"), in.Yes("varieties"), in.Yes("undo")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	l, err := c.reg.Listing(ctx, seat.Member.ID, id)
	if err != nil {
		return bot.Reply{}, err
	}
	actor := register.Actor{Member: seat.Member.ID, For: l.Own, At: in.At}
	owner, err := c.reg.Seat(ctx, l.Own)
	if err != nil {
		return bot.Reply{}, err
	}
	if undo {
		return c.takeBackList(ctx, seat, owner.Member, actor, l)
	}
	if !l.Entered.IsZero() {
		return bot.Reply{}, fault.New(fault.Taken, "%s was entered on %s already. Send the file again to see what of it stands.", l.Name, calendar.DayAt(l.Entered.In(in.At.Location())).Long())
	}
	return c.enterList(ctx, in, seat, owner.Member, actor, l, fresh, added)
}

func (c counter) enterList(ctx context.Context, in *bot.In, seat register.Seat, own register.Member, actor register.Actor, l register.Listing, fresh, varieties bool) (bot.Reply, error) {
	if kind, table, ok, err := c.otherKind(l.Data); err != nil || ok {
		if err != nil {
			return bot.Reply{}, err
		}
		return c.kindEntered(ctx, in, actor, own, kind, table, l)
	}
	g, err := c.grasp(ctx, in, own, l.Data, broughtOn(in, l))
	if err != nil {
		return bot.Reply{}, err
	}
	var names []string
	if varieties {
		if names, err = c.addLacking(ctx, actor, g); err != nil {
			return bot.Reply{}, err
		}
	}
	rows := g.rows(fresh)
	if len(rows) == 0 {
		return bot.Reply{}, fault.New(fault.Taken, "Nothing of %s is left to enter. /stock list shows what is there.", l.Name)
	}
	var progress func(int)
	if in.Progress != nil {
		progress = func(done int) { in.Progress(done, len(rows)) }
	}
	entered, moved, err := c.reg.EnterListing(ctx, actor, l.ID, rows, progress)
	if err != nil {
		return bot.Reply{}, err
	}
	batches := make([]register.Batch, 0, len(entered))
	for _, e := range entered {
		if e.Batch.ID != 0 {
			batches = append(batches, e.Batch)
		}
	}
	return c.enteredList(ctx, seat, own, actor, l, batches, names, moved, fresh)
}

// addLacking makes the varieties that a list has and the co-op lacks, by name alone.
func (c counter) addLacking(ctx context.Context, actor register.Actor, g grasped) ([]string, error) {
	names := g.lacking()
	for _, name := range names {
		v, err := c.reg.AddVariety(ctx, register.Actor{Member: actor.Member, At: actor.At}, variety.Variety{Name: name})
		if err != nil {
			return nil, err
		}
		for i := range g.lines {
			if l := &g.lines[i]; l.verdict == noVariety && l.variety == name {
				l.verdict, l.stock.Variety = toEnter, v.ID
			}
		}
	}
	return names, nil
}

// rows gives what is to be entered of a list.
func (g grasped) rows(fresh bool) []register.ListingRow {
	var rows []register.ListingRow
	at := make([]int, len(g.lines)) // by line: the row, from 1
	for i, l := range g.lines {
		if l.verdict != toEnter {
			continue
		}
		row := register.ListingRow{Line: l.row.Line, Key: l.key, Stock: l.stock}
		row.Stock.New = fresh
		if l.after > 0 && g.lines[l.after-1].stock.Variety == l.stock.Variety {
			row.After = at[l.after-1]
		}
		rows = append(rows, row)
		at[i] = len(rows)
	}
	return rows
}

func (c counter) enteredList(ctx context.Context, seat register.Seat, own register.Member, actor register.Actor, l register.Listing,
	batches []register.Batch, names []string, moved []register.Move, fresh bool) (bot.Reply, error) {
	reply := bot.Reply{Title: l.Name + ": " + plural(len(batches), "batch", "batches") + " entered", Private: true}
	apart, added, shown := "", "", ""
	if fresh {
		apart = "They stand apart for a time, since they came in from elsewhere."
	}
	if len(names) > 0 {
		added = "Added to the co-op's varieties: " + some(names, 10) + ". Tell when each blooms, as in " + bot.Typed("/variety add", "name", names[0], "like", "late spray") + ", and its dates can be reckoned."
	}
	reply.Rows.Columns = bot.Columns("mark", "variety", "stage", "count", "spot")
	for _, b := range batches[:min(len(batches), mostLines)] {
		reply.Rows.Add(bot.Text(b.Mark), bot.Text(b.Name), bot.Text(string(b.Stage)), bot.Whole(b.Count), textCell(b.Spot))
	}
	if len(batches) > mostLines {
		shown = fmt.Sprintf("The first %d are shown here.", mostLines)
	}
	reply.Text = paragraphs(recordedFor(own, actor)+totals(batches), "Write the marks on the labels; the file has the list with them. "+shown, apart, added, movedWords(moved, own.ID, pinch(seat)))
	file, err := c.stockCSV(ctx, own, batches)
	reply.Files = []bot.File{file}
	reply.Next = []bot.Next{
		{Label: "That was a mistake: take the list back", Request: bot.Typed("/stock add", "list", strconv.FormatInt(l.ID, 10), "undo", "yes")},
		{Label: "What to write on the labels", Request: "/stock label"},
	}
	return reply, err
}

func (c counter) takeBackList(ctx context.Context, seat register.Seat, own register.Member, actor register.Actor, l register.Listing) (bot.Reply, error) {
	taken, stay, moved, err := c.reg.TakeBackListing(ctx, actor, l.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	if taken+len(stay) == 0 {
		return bot.Reply{}, fault.New(fault.Missing, "No plants that were entered from %s stand. /stock list shows what is there.", l.Name)
	}
	left := ""
	if len(stay) > 0 {
		left = plural(len(stay), "batch stays, since more was recorded of it.", "batches stay, since more was recorded of them.") + " /stock list has what is there."
	}
	return bot.Reply{Title: l.Name + ": taken back", Private: true, Text: paragraphs(recordedFor(own, actor)+plural(taken, "batch is", "batches are")+
		" taken back, and nothing of it was erased: what was entered is kept as undone.", left, movedWords(moved, own.ID, pinch(seat)))}, nil
}

// stockCSV writes batches as a list that can be brought back.
func (c counter) stockCSV(ctx context.Context, own register.Member, batches []register.Batch) (bot.File, error) {
	plans, err := c.reg.Plans(ctx, own.ID, 0)
	if err != nil {
		return bot.File{}, err
	}
	sorted := slices.Clone(batches)
	slices.SortFunc(sorted, func(a, b register.Batch) int { return int(a.ID - b.ID) }) // those that others came from first
	var rows [][]string
	for _, b := range sorted {
		target := ""
		if i := slices.IndexFunc(plans, func(p register.Plan) bool { return p.ID == b.Plan }); i >= 0 {
			target = targetName(plans[i])
		}
		rows = append(rows, []string{b.Mark, b.Name, strconv.Itoa(b.Count), string(b.Stage), b.Since.String(), b.Spot, b.From, target})
	}
	head := []string{"mark", "variety", "count", "stage", "since", "spot", "from", "target"}
	return bot.File{Name: "stock.csv", Type: "text/csv", Alt: "the plants as a list that a spreadsheet opens", Data: listing.Write(head, rows)}, nil
}
