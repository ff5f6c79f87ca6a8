package requests

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// stopping is a variety's dated stops: the co-op's and a grower's own.
type stopping struct {
	seat   register.Seat // who asks
	grower register.Member
	v      register.Variety
	own    register.OwnVariety
}

func (c counter) stopping(ctx context.Context, in *bot.In, seat register.Seat, grower register.Member) stopping {
	s := stopping{seat: seat, grower: grower, v: c.variety(ctx, in, seat.Coop.ID, register.Member{}, "variety")}
	if in.Err() != nil {
		return s
	}
	var err error
	if s.own, err = c.reg.Own(ctx, grower.ID, s.v.ID); err != nil {
		in.Fail(err)
	}
	return s
}

// whose begins what is the grower's own.
func (s stopping) whose() string {
	if s.grower.ID == s.seat.Member.ID {
		return "Your own"
	}
	return s.grower.Name + "'s own"
}

func (c counter) varietyStops(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if !told(in, "variety", "own", "for") {
		seat := c.seat(ctx, in)
		_, grower := c.actor(ctx, in, seat)
		s := c.stopping(ctx, in, seat, grower)
		return s.list(in.Yes("own")), in.Err()
	}
	stop := variety.Stop{On: in.Annual("on"), Second: in.Annual("second"), Bloom: in.Annual("bloom"), Source: in.Text("source")}
	if in.Err() == nil && stop.On.IsZero() && !in.Has("drop") && !in.Has("response") {
		in.Fail(fault.New(fault.Unclear, `On which day is it stopped? Add it, as in on:"5 jun"; second, bloom, at and source go with it.`))
	}
	seat := c.enter(ctx, in)
	actor, grower := c.actor(ctx, in, seat)
	s := c.stopping(ctx, in, seat, grower)
	if in.Has("on") {
		stop.Lat = latitudeOf(in, "at", register.Seat{Coop: seat.Coop, Member: grower}.Place())
	}
	stops := &s.v.Stops
	if in.Yes("own") {
		stops = &s.own.Stops
	}
	*stops = s.dropped(in, *stops)
	if in.Has("on") {
		same := func(old variety.Stop) bool { return old.On == stop.On && old.Lat == stop.Lat }
		*stops = append(slices.DeleteFunc(*stops, same), stop)
	}
	put(in, "response", &s.own.Response, in.Number)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	return c.changeStops(ctx, in, actor, s)
}

// changeStops keeps the stops as they are now, the co-op's or the grower's own, and the grower's own response.
func (c counter) changeStops(ctx context.Context, in *bot.In, actor register.Actor, s stopping) (bot.Reply, error) {
	stops := in.Has("on") || in.Has("drop")
	theirs, others := in.Yes("own") || !stops, !in.Yes("own") && stops
	var watched []register.Member
	if !others {
		watched = append(watched, s.grower)
	}
	effect, err := c.watch(ctx, s.seat, s.v.ID, watched...)
	if err != nil {
		return bot.Reply{}, err
	}
	var moved, more []register.Move
	if others {
		if moved, err = c.reg.ChangeVariety(ctx, actor, s.v.ID, s.v.Variety); err != nil {
			return bot.Reply{}, err
		}
	}
	if theirs || in.Has("response") {
		if more, err = c.reg.SetOwn(ctx, actor, s.v.ID, s.own.Stops, s.own.Response); err != nil {
			return bot.Reply{}, err
		}
	}
	led, rows, err := effect.tell(ctx, append(moved, more...))
	return bot.Reply{Title: s.v.Name, Text: paragraphs(s.now(), led), Rows: rows, Private: !others}, err
}

// dropped takes out the stop that the field drop names by its day, and by its latitude where that is told.
func (s stopping) dropped(in *bot.In, stops []variety.Stop) []variety.Stop {
	day := in.Annual("drop")
	if day.IsZero() {
		return stops
	}
	at := func(variety.Stop) bool { return true }
	if in.Has("at") && !in.Has("on") {
		lat := bot.Take(in, "at", readLatitude)
		at = func(old variety.Stop) bool { return old.Lat == lat }
	}
	left := slices.DeleteFunc(slices.Clone(stops), func(old variety.Stop) bool { return old.On == day && at(old) })
	if in.Err() == nil && len(left) == len(stops) {
		in.Fail(fault.New(fault.Missing, "There is no such stop on %s to take out. %s lists them; own:yes takes out one of your own.", day, bot.Typed("/variety stops", "variety", s.v.Name)))
	}
	return left
}

// now tells the stops as they are, and which of them count for the grower.
func (s stopping) now() string {
	told := stopsText(s.seat, s.v.Stops, s.own, s.whose())
	if told == "" {
		told = "There is no dated " + stopWord(s.seat) + "."
	}
	return paragraphs(told, responseText(s.own, s.whose()), s.note())
}

func (s stopping) note() string {
	if len(s.own.Stops) == 0 || len(s.v.Stops) == 0 {
		return ""
	}
	return s.whose() + " stand in place of the co-op's."
}

func (s stopping) list(own bool) bot.Reply {
	rows := bot.Table{Columns: []bot.Column{{Key: "on", Head: stopWord(s.seat)}, {Key: "second", Head: "second"}, {Key: "bloom", Head: "bloom"},
		{Key: "at", Head: "at"}, {Key: "whose", Head: "whose"}, {Key: "source", Head: "source"}}}
	add := func(stops []variety.Stop, whose string) {
		for _, stop := range stops {
			rows.Add(annual(stop.On), annual(stop.Second), annual(stop.Bloom), bot.Text(latitude(stop.Lat)), bot.Text(whose), text(stop.Source))
		}
	}
	if !own {
		add(s.v.Stops, "the co-op's")
	}
	whose := "your own"
	if s.grower.ID != s.seat.Member.ID {
		whose = s.whose()
	}
	add(s.own.Stops, whose)
	said := "A dated " + stopWord(s.seat) + " holds for its latitude; elsewhere the window is wider."
	if len(rows.Rows) == 0 {
		said = fmt.Sprintf("No dated %s of %s is known. Add one, as in %s.", stopWord(s.seat), s.v.Name,
			bot.Typed("/variety stops", "variety", s.v.Name, "on", "5 jun", "bloom", "8 nov", "at", "52"))
	}
	return bot.Reply{Title: s.v.Name, Text: paragraphs(said, s.note(), responseText(s.own, s.whose())), Rows: rows,
		Private: len(s.own.Stops) > 0 || s.own.Response != 0}
}

// stopsText tells the dated stops, the grower's own first, a line each.
func stopsText(seat register.Seat, coop []variety.Stop, own register.OwnVariety, whose string) string {
	var told []string
	for _, stop := range own.Stops {
		told = append(told, whose+": "+stopLine(seat, stop))
	}
	for _, stop := range coop {
		told = append(told, upper(stopLine(seat, stop)))
	}
	return strings.Join(told, "\n")
}

// stopLine writes "stopped 5 Jun and 1 Jul, it blooms 8 Nov (52° N, the co-op's notes)".
func stopLine(seat register.Seat, stop variety.Stop) string {
	line := "stopped " + stop.On.String()
	if pinch(seat) {
		line = "pinched " + stop.On.String()
	}
	if !stop.Second.IsZero() {
		line += " and " + stop.Second.String()
	}
	if !stop.Bloom.IsZero() {
		line += ", it blooms " + stop.Bloom.String()
	}
	return line + " (" + strings.TrimSuffix(latitude(stop.Lat)+", "+stop.Source, ", ") + ")"
}

func responseText(own register.OwnVariety, whose string) string {
	if own.Response == 0 {
		return ""
	}
	return fmt.Sprintf("%s response: %g weeks.", whose, own.Response)
}

// stopWord is what the co-op calls taking out the tip.
func stopWord(seat register.Seat) string {
	if pinch(seat) {
		return string(register.SayPinch)
	}
	return string(register.SayStop)
}

func annual(day calendar.Annual) bot.Cell { return text(day.String()) }
