package requests

import (
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

func (c counter) swapMeetRequest() bot.Request {
	return bot.Request{
		Name: "meet", Help: "Appoint day, hour and place of a handover, move them or call them off", Right: bot.Member, Handle: c.swapMeet,
		Examples: []string{`/swap meet swap:12 day:saturday hour:10:00 where:"the market"`, "/swap meet 12 day:tomorrow hour:7pm", "/swap meet swap:12 off:yes"},
		Fields: []bot.Field{c.swapField("swap", "its number", true),
			{Name: "day", Help: "the day on which it is handed over", Kind: bot.DayKind, Required: true},
			{Name: "hour", Help: "the hour by your own clock, as in 10:00 or 7pm", Kind: bot.TextKind, Required: true},
			{Name: "where", Help: "the place; the offer's if left out", Kind: bot.TextKind, Max: new(100.0)},
			{Name: "off", Help: "yes, in place of all that, to call it off; the swap stands", Kind: bot.YesKind, Instead: true},
			c.forField()},
	}
}

// swapMeet appoints a handover, or calls it off, and tells the other member.
func (c counter) swapMeet(ctx context.Context, in *bot.In) (bot.Reply, error) {
	p := register.Appointment{Swap: numbered(in, "swap"), Day: in.Day("day"), Spot: in.Text("where")}
	hour := bot.Take(in, "hour", scheduler.ReadHour)
	p.Hour, p.Minute = int(hour/60), int(hour%60)
	off := in.Yes("off")
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	switch {
	case in.Err() != nil:
		return bot.Reply{}, in.Err()
	case p.Swap == 0:
		return bot.Reply{}, fault.New(fault.Unclear, "Which swap? Name it with swap:; /swap list show:mine has their numbers.")
	case off && (in.Has("day") || in.Has("hour") || in.Has("where")):
		return bot.Reply{}, fault.New(fault.Unclear, "off:yes calls the handover off, so it takes no day:, hour: or where:. Leave out the one or the other.")
	case off:
		return c.swapOff(ctx, actor, own, p.Swap, in.Text("for"))
	case in.Has("off"):
		return bot.Reply{}, fault.New(fault.Unclear, "off:no calls nothing off. Leave it out, and give day: and hour: to appoint the handover or to move it.")
	}
	before, err := c.reg.Swap(ctx, p.Swap)
	if err != nil {
		return bot.Reply{}, err
	}
	s, err := c.reg.Meet(ctx, actor, p)
	if err != nil {
		return bot.Reply{}, err
	}
	title := fmt.Sprintf("Swap %d: day and hour appointed", s.ID)
	if before.Meets() {
		title = fmt.Sprintf("Swap %d: day and hour moved", s.ID)
	}
	words, instants := s.Handover(in.Zone)
	return bot.Reply{Title: title, Private: true, Instants: instants,
		Text: paragraphs(recordedFor(own, actor)+s.Sentence()+". Handed over: "+words+".", clockWords(s.Meeting, p), otherName(s, own)+" is told now"+remindedWords(s.Meeting)+"."),
		Next: append(meetNext(s, in.Text("for")), nextWord(s, own)...)}, nil
}

func (c counter) swapOff(ctx context.Context, actor register.Actor, own register.Member, swap int64, member string) (bot.Reply, error) {
	s, err := c.reg.CallOff(ctx, actor, swap)
	return bot.Reply{Title: fmt.Sprintf("Swap %d: day and hour called off", s.ID), Private: true,
		Text: recordedFor(own, actor) + fmt.Sprintf("The swap stands: %s, %s. %s is told now. /swap meet appoints another day and hour, /swap cancel ends the swap itself.", s.Sentence(), s.When(), otherName(s, own)),
		Next: meetNext(s, member)}, err
}

// remindedWords tells when both are reminded, by the clock of whoever appointed it.
func remindedWords(m register.Meeting) string {
	switch word := m.Word(m.At.Location()); {
	case word.IsZero():
		return ""
	case calendar.DayAt(word) < calendar.DayAt(m.At):
		return ", and both of you are reminded on the evening before"
	}
	return ", and both of you are reminded on that morning"
}

// clockWords tells what a change of the clock makes of an hour.
func clockWords(m register.Meeting, asked register.Appointment) string {
	shown := scheduler.Hour(m.At.Hour()*60 + m.At.Minute())
	if named := scheduler.Hour(asked.Hour*60 + asked.Minute); named != shown {
		return fmt.Sprintf("The clock goes forward that night and never shows %s: the handover is at the change, %s.", named, shown)
	}
	if _, twice := calendar.Twin(m.At); twice {
		return fmt.Sprintf("The clock goes back that night and shows %s twice: the first is meant.", shown)
	}
	return ""
}

func otherName(s register.Swap, own register.Member) string {
	if s.Giver == own.ID {
		return s.ToName
	}
	return s.GiverName
}

// meetNext offers to appoint a handover, and what can be done about one that is appointed.
func meetNext(s register.Swap, member string) []bot.Next {
	ask := bot.Typed("/swap meet", "swap", id(s.ID), "for", member)
	switch {
	case s.State != register.Agreed:
		return nil
	case !s.Meets():
		return []bot.Next{{Label: fmt.Sprintf("Appoint day and hour of swap %d", s.ID), Request: ask}}
	}
	return []bot.Next{{Label: fmt.Sprintf("Another day or hour for swap %d", s.ID), Request: ask},
		{Label: fmt.Sprintf("Call day and hour of swap %d off", s.ID), Request: bot.Typed("/swap meet", "swap", id(s.ID), "off", "yes", "for", member)}}
}
