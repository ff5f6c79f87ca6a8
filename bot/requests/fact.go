package requests

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/register"
)

// fact is one thing to be known of a co-op, a member or a variety.
type fact struct {
	field string // the field that tells it
	is    string // "" while it is not known
	basis string // what it rests on, or what holds while it is not known
}

func factTable(facts []fact) bot.Table {
	rows := bot.Table{Columns: bot.Columns("field", "is", "basis")}
	for _, f := range facts {
		is := bot.Cell{}
		if f.is != "" {
			is = bot.Text(f.is)
		}
		rows.Add(bot.Text(f.field), is, bot.Text(f.basis))
	}
	return rows
}

// changes tells what became of facts, a line each; both lists have the same fields in the same order.
func changes(before, after []fact) []string {
	var told []string
	for i, f := range after {
		was := before[i].is
		switch {
		case before[i] == f || was == "" && f.is == "":
		case f.is == "":
			told = append(told, fmt.Sprintf("%s: not known (was %s)", f.field, was))
		case was == "" || was == f.is:
			told = append(told, fmt.Sprintf("%s: %s", f.field, f.is))
		default:
			told = append(told, fmt.Sprintf("%s: %s (was %s)", f.field, f.is, was))
		}
	}
	return told
}

// unknown names the fields of the facts that are not known.
func unknown(facts []fact) []string {
	var fields []string
	for _, f := range facts {
		if f.is == "" {
			fields = append(fields, f.field)
		}
	}
	return fields
}

// known leaves out the facts that are not.
func known(facts []fact) []fact {
	var kept []fact
	for _, f := range facts {
		if f.is != "" {
			kept = append(kept, f)
		}
	}
	return kept
}

// paragraphs joins what there is to say, each in a paragraph of its own.
func paragraphs(texts ...string) string {
	var kept []string
	for _, text := range texts {
		if text != "" {
			kept = append(kept, text)
		}
	}
	return strings.Join(kept, "\n\n")
}

// told gives the fields that were filled in, without those that only say how or for whom.
func told(in *bot.In, but ...string) bool {
	for _, e := range in.Fields {
		if in.Has(e.Field) && !strings.Contains(" "+strings.Join(but, " ")+" ", " "+e.Field+" ") {
			return true
		}
	}
	return false
}

// put replaces a value by what a field says, if it was filled in.
func put[T any](in *bot.In, field string, value *T, read func(field string) T) {
	if in.Has(field) {
		*value = read(field)
	}
}

// effect watches what a deed does to the plans of members: which open jobs it moves, and which targets it puts out of
// reach or back in.
type effect struct {
	counter
	seat    register.Seat
	members []register.Member
	variety int64 // 0: all
	before  map[int64]register.Plan
}

// watch begins before the deed; whose gives the only member concerned, with none it is all.
func (c counter) watch(ctx context.Context, seat register.Seat, variety int64, whose ...register.Member) (effect, error) {
	e := effect{counter: c, seat: seat, members: whose, variety: variety}
	var err error
	if len(whose) == 0 {
		if e.members, err = c.reg.Members(ctx, seat.Coop.ID); err != nil {
			return e, err
		}
	}
	e.before, err = e.plans(ctx)
	return e, err
}

func (e effect) plans(ctx context.Context) (map[int64]register.Plan, error) {
	plans := map[int64]register.Plan{}
	for _, m := range e.members {
		running, err := e.reg.Plans(ctx, m.ID, e.variety)
		if err != nil {
			return nil, err
		}
		for _, p := range running {
			plans[p.ID] = p
		}
	}
	return plans, nil
}

// tell gives what became of the plans after the deed, with members' names once others' jobs than the asker's moved.
func (e effect) tell(ctx context.Context, moved []register.Move) (text string, rows bot.Table, err error) {
	after, err := e.plans(ctx)
	var told []string
	for _, id := range slices.Sorted(maps.Keys(after)) {
		if was, is := e.before[id].Refusal, after[id].Refusal; was == "" && is != "" {
			told = append(told, e.of(after[id].Member)+targetTitle(after[id])+" can no longer be met. "+is)
		} else if was != "" && is == "" {
			told = append(told, e.of(after[id].Member)+targetTitle(after[id])+" can be met again.")
		}
	}
	if len(moved) > 0 {
		told = append(told, plural(len(moved), "open job moves", "open jobs move")+" with that:")
	}
	return paragraphs(told...), e.moves(moved), err
}

// of names whose target it is.
func (e effect) of(member int64) string {
	if member == e.seat.Member.ID {
		return "Your target "
	}
	return e.name(member) + "'s target "
}

func (e effect) name(member int64) string {
	for _, m := range e.members {
		if m.ID == member {
			return m.Name
		}
	}
	return ""
}

func (e effect) moves(moved []register.Move) (rows bot.Table) {
	others := slices.ContainsFunc(moved, func(m register.Move) bool { return m.Member != e.seat.Member.ID })
	rows.Columns = bot.Columns("variety", "step", "from", "to")
	if others {
		rows.Columns = bot.Columns("member", "variety", "step", "from", "to")
	}
	for _, m := range moved {
		cells := []bot.Cell{bot.Text(m.Name), bot.Text(m.Kind.Name(pinch(e.seat))), bot.Day(m.From), bot.Day(m.To)}
		if others {
			cells = append([]bot.Cell{bot.Text(e.name(m.Member))}, cells...)
		}
		rows.Add(cells...)
	}
	return rows
}
