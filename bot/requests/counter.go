package requests

import (
	"context"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// counter is where requests are answered: it finds in the register what their fields name. A failure is kept in the
// In, as with the fields themselves, so that a handler asks in.Err once.
type counter struct {
	reg      *register.Register
	darkroom chan struct{}                // holds one for each photo that is being read: unpacked, they are large
	counted  map[[2]int64]register.Counts // by variety and member: what a request that asks often has asked already; else nil
}

// seat gives who asks, as far as the register knows them.
func (c counter) seat(ctx context.Context, in *bot.In) register.Seat {
	seat, err := c.reg.Find(ctx, in.Coop.Key, in.Who.Key)
	if err != nil {
		in.Fail(err)
	}
	return seat
}

// enter gives who asks, and makes them a member of the co-op where they are new.
func (c counter) enter(ctx context.Context, in *bot.In) register.Seat {
	if in.Err() != nil {
		return register.Seat{}
	}
	seat, err := c.reg.Enter(ctx, register.Entry{CoopKey: in.Coop.Key, CoopName: in.Coop.Name, Key: in.Who.Key, Name: in.Who.Name, Steward: in.Steward, Governed: in.Governed, At: in.At})
	if err != nil {
		in.Fail(err)
	}
	return seat
}

// actor gives who acts: the asker, or a steward for the member whom the field "for" names. The second result is the
// member whose deed it is.
func (c counter) actor(ctx context.Context, in *bot.In, seat register.Seat) (register.Actor, register.Member) {
	actor := register.Actor{Member: seat.Member.ID, At: in.At}
	if in.Err() != nil || !in.Has("for") {
		return actor, seat.Member
	}
	own := c.member(ctx, in, seat, "for")
	if in.Err() == nil && own.ID != seat.Member.ID && !seat.Member.Steward {
		in.Fail(fault.New(fault.Barred, "Only a steward records for another member. Leave out for:, or ask a steward; /coop show names them."))
	}
	actor.For = own.ID
	return actor, own
}

// member gives the member that a field names.
func (c counter) member(ctx context.Context, in *bot.In, seat register.Seat, field string) register.Member {
	name := in.Text(field)
	if name == "" || in.Err() != nil {
		return register.Member{}
	}
	m, err := c.reg.MemberNamed(ctx, seat.Coop.ID, name)
	if err != nil {
		in.Fail(err)
	}
	return m
}

// variety gives the variety that a field names, as a member grows it.
func (c counter) variety(ctx context.Context, in *bot.In, coop int64, own register.Member, field string) register.Variety {
	name := in.Text(field)
	if name == "" || in.Err() != nil {
		return register.Variety{}
	}
	v, err := c.reg.VarietyNamed(ctx, coop, name)
	if err == nil && own.ID != 0 {
		v, err = c.reg.VarietyFor(ctx, own.ID, v.ID)
	}
	if err != nil {
		in.Fail(err)
	}
	return v
}

// batch gives the co-op's batch whose mark a field holds.
func (c counter) batch(ctx context.Context, in *bot.In, coop int64, field string) register.Batch {
	mark := in.Text(field)
	if mark == "" || in.Err() != nil {
		return register.Batch{}
	}
	b, err := c.reg.BatchMarked(ctx, coop, mark)
	if err != nil {
		in.Fail(err)
	}
	return b
}

// target gives the running target of a member that a field names as "Saltmarsh 2027-11-05", or as the variety alone
// where there is only one.
func (c counter) target(ctx context.Context, in *bot.In, own register.Member, field string) register.Plan {
	text := in.Text(field)
	if text == "" || in.Err() != nil {
		return register.Plan{}
	}
	plans, err := c.reg.Plans(ctx, own.ID, 0)
	if err != nil {
		in.Fail(err)
		return register.Plan{}
	}
	var found []register.Plan
	var names []string
	for _, p := range plans {
		if p.Keeps() {
			continue
		}
		names = append(names, targetName(p))
		if key := variety.Fold(text); key == variety.Fold(targetName(p)) || key == variety.Fold(p.Name) {
			found = append(found, p)
		}
	}
	switch {
	case len(found) == 1:
		return found[0]
	case len(found) > 1:
		in.Fail(fault.New(fault.Unclear, "There are %d targets for %s. Name one: %s.", len(found), text, listed(targetNames(found))))
	case len(names) == 0:
		in.Fail(fault.New(fault.Missing, "There is no target yet. /target set makes one."))
	default:
		in.Fail(fault.New(fault.Missing, "There is no target %q. Running ones are %s.", text, strings.Join(names, ", ")))
	}
	return register.Plan{}
}

func targetNames(plans []register.Plan) []string {
	names := make([]string, len(plans))
	for i, p := range plans {
		names[i] = targetName(p)
	}
	return names
}

// targetName is how a target is named in a field: its variety and first bloom day.
func targetName(p register.Plan) string { return p.Name + " " + p.Wanted.From.String() }

// pinch reports whether replies of the co-op say "pinch" for "stop".
func pinch(seat register.Seat) bool { return seat.Coop.StopWord == register.SayPinch }

// notAhead refuses a day that is still to come for something done.
func notAhead(in *bot.In, field string, on calendar.Day) {
	if on > in.Today() {
		in.Fail(fault.New(fault.Unclear, "%s is still to come; %s: is the day on which it was done. Leave it out for today.", on.Long(), field))
	}
}

// completeVarieties offers the co-op's varieties, those the asker keeps first.
func (c counter) completeVarieties(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	seat, err := c.reg.Find(ctx, in.Coop.Key, in.Who.Key)
	if err != nil || seat.Coop.ID == 0 {
		return nil, err
	}
	own, err := c.reg.Batches(ctx, seat.Member.ID, 0)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, b := range own {
		if !slices.Contains(names, b.Name) && strings.Contains(variety.Fold(b.Name), variety.Fold(typed)) {
			names = append(names, b.Name)
		}
	}
	near, err := c.reg.NearVarieties(ctx, seat.Coop.ID, typed, 25)
	for _, name := range near {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return bot.Choices(names...), err
}

// completeBatches offers the marks of the asker's live batches, with variety, stage and number.
func (c counter) completeBatches(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	seat, err := c.reg.Find(ctx, in.Coop.Key, in.Who.Key)
	if err != nil || seat.Zero() {
		return nil, err
	}
	own, err := c.reg.Batches(ctx, seat.Member.ID, 0)
	choices := make([]bot.Choice, len(own))
	for i, b := range own {
		choices[i] = bot.Choice{Label: b.Mark + " " + b.Name + ", " + count(b.Count, string(b.Stage)), Value: b.Mark}
	}
	return bot.Matching(choices, typed), err
}

// completeMembers offers the co-op's members.
func (c counter) completeMembers(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	seat, err := c.reg.Find(ctx, in.Coop.Key, in.Who.Key)
	if err != nil || seat.Coop.ID == 0 {
		return nil, err
	}
	members, err := c.reg.Members(ctx, seat.Coop.ID)
	var names []string
	for _, m := range members {
		names = append(names, m.Name)
	}
	return bot.Matching(bot.Choices(names...), typed), err
}

// completeTargets offers the asker's running targets.
func (c counter) completeTargets(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	seat, err := c.reg.Find(ctx, in.Coop.Key, in.Who.Key)
	if err != nil || seat.Zero() {
		return nil, err
	}
	plans, err := c.reg.Plans(ctx, seat.Member.ID, 0)
	var names []string
	for _, p := range plans {
		if !p.Keeps() {
			names = append(names, targetName(p))
		}
	}
	return bot.Matching(bot.Choices(names...), typed), err
}

// forField is the field by which a steward records for a member who does not use the chat.
func (c counter) forField() bot.Field {
	return bot.Field{Name: "for", Help: "the member it is recorded for, by a steward", Kind: bot.MemberKind, Complete: c.completeMembers}
}

// varietyField names a variety of the co-op.
func (c counter) varietyField(required bool) bot.Field {
	return bot.Field{Name: "variety", Help: "a variety of the co-op", Kind: bot.NamedKind, Required: required, Complete: c.completeVarieties}
}

// stepColumns are the columns of every answer that is a list of steps.
func stepColumns() []bot.Column { return bot.Columns("step", "earliest", "likely", "latest", "basis") }

func stepRow(s crop.Step, pinch bool) []bot.Cell {
	return []bot.Cell{bot.Text(s.Kind.Name(pinch)), bot.Day(s.Window.Earliest), bot.Day(s.Window.Likely), bot.Day(s.Window.Latest), bot.Text(string(s.Basis))}
}
