package requests

import (
	"context"
	"fmt"
	"slices"
	"time"

	"shortday/bot"
	"shortday/bot/ical"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// What can be asked of the address under which one's calendar is kept.
const (
	showAddress = "show"
	newAddress  = "new"
	noAddress   = "none"
)

func (c counter) planCalendar() bot.Request {
	return bot.Request{
		Name: "calendar", Help: "Your dates as a file for your own calendar, or an address to subscribe to",
		Examples: []string{"/plan calendar", "/plan calendar variety:Saltmarsh", "/plan calendar address:new"},
		Fields: []bot.Field{
			c.varietyField(false),
			{Name: "address", Help: "instead of a file, the private address of your calendar", Kind: bot.ChoiceKind, Choices: []bot.Choice{
				{Label: "show it", Value: showAddress}, {Label: "a new one; an old one no longer serves", Value: newAddress}, {Label: "none any more", Value: noAddress},
			}},
			c.forField(),
		},
		Right:  bot.Member,
		Handle: c.calendar,
	}
}

func (c counter) calendar(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	v := c.variety(ctx, in, seat.Coop.ID, own, "variety")
	address := in.Choice("address")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if address != "" {
		return c.calendarAddress(ctx, actor, own, address)
	}
	file, open, err := calendarFile(ctx, c.reg, register.Seat{Coop: seat.Coop, Member: own}, v.Variety.Name, in.At)
	if err != nil {
		return bot.Reply{}, err
	}
	if file.Data == nil {
		return bot.Reply{}, fault.New(fault.Missing, "There is nothing to put in a calendar yet. /target set aims at a bloom, /stock add enters plants.")
	}
	reply := bot.Reply{Title: titleOf(seat, own) + "Calendar", Private: true, Files: []bot.File{file}}
	reply.Text = fmt.Sprintf("%s. Open the file with your calendar; opened again later, it moves what has moved and doubles nothing.", upper(open.says(" as whole days", " at its hour", " at their hours")))
	if base, err := c.reg.FeedBase(ctx); err != nil {
		return bot.Reply{}, err
	} else if base != "" && own.ID == seat.Member.ID {
		reply.Next = append(reply.Next, bot.Next{Label: "An address to subscribe to instead", Request: bot.Typed("/plan calendar", "address", showAddress)})
	}
	return reply, nil
}

// calendarAddress shows, makes or revokes the address of a member's calendar. It is for that member's eyes alone.
func (c counter) calendarAddress(ctx context.Context, actor register.Actor, own register.Member, address string) (bot.Reply, error) {
	if own.ID != actor.Member {
		return bot.Reply{}, fault.New(fault.Barred, "A calendar's address is its member's own. Leave out for: to have yours.")
	}
	if address == noAddress {
		if err := c.reg.EndFeed(ctx, actor); err != nil {
			return bot.Reply{}, err
		}
		return bot.Reply{Title: "Calendar", Private: true, Text: "The address no longer serves. Calendars that subscribed to it keep what they have and hear nothing more."}, nil
	}
	base, err := c.reg.FeedBase(ctx)
	if err != nil {
		return bot.Reply{}, err
	}
	if base == "" {
		return bot.Reply{}, fault.New(fault.Missing, "No calendars are served here. /plan calendar gives a file; who runs Shortday can serve addresses with --feed.")
	}
	token, err := c.reg.Feed(ctx, own.ID)
	if err == nil && (token == "" || address == newAddress) {
		token, err = c.reg.NewFeed(ctx, actor)
	}
	if err != nil {
		return bot.Reply{}, err
	}
	return bot.Reply{
		Title: "Calendar", Private: true,
		Text: "Subscribe your calendar to this address; it then follows by itself:\n" + base + "/" + token + ".ics\n\nWhoever has it can read your dates, so keep it to yourself.",
		Next: []bot.Next{
			{Label: "A new address; this one then no longer serves", Request: bot.Typed("/plan calendar", "address", newAddress)},
			{Label: "No address any more", Request: bot.Typed("/plan calendar", "address", noAddress)},
		},
	}, nil
}

// FeedFile gives the calendar that an address opens: false where it opens none.
func FeedFile(ctx context.Context, reg *register.Register, token string, at time.Time) (bot.File, bool, error) {
	seat, err := reg.FeedSeat(ctx, token)
	if err != nil || seat.Zero() {
		return bot.File{}, false, err
	}
	file, _, err := calendarFile(ctx, reg, seat, "", at)
	return file, err == nil, err
}

// inCalendar counts what a calendar has that is still to be done.
type inCalendar struct{ jobs, meetings int }

// says names what there is of each; jobs where there is nothing.
func (n inCalendar) says(asDays, atHour, atHours string) string {
	var words []string
	if n.jobs > 0 || n.meetings == 0 {
		words = append(words, plural(n.jobs, "job", "jobs")+asDays)
	}
	if n.meetings > 0 {
		words = append(words, plural(n.meetings, "handover"+atHour, "handovers"+atHours))
	}
	return listed(words)
}

// calendarFile writes a member's jobs and the handovers appointed, of one variety where it is named, and tells how many
// are still to be done.
func calendarFile(ctx context.Context, reg *register.Register, seat register.Seat, only string, at time.Time) (file bot.File, open inCalendar, err error) {
	jobs, identity, err := reg.CalendarJobs(ctx, seat.Member.ID, calendar.DayAt(at))
	if err != nil {
		return file, open, err
	}
	swaps, err := reg.CalendarSwaps(ctx, seat.Member.ID, calendar.DayAt(at))
	if err != nil {
		return file, open, err
	}
	c := ical.Calendar{Name: seat.Member.Name + ", " + seat.Coop.Name, Stamp: at}
	for _, j := range jobs {
		if only != "" && j.Name != only {
			continue
		}
		if j.State == register.JobOpen {
			open.jobs++
		}
		c.Events = append(c.Events, jobEvent(j, identity, pinch(seat)))
	}
	for _, s := range swaps {
		if only != "" && s.Name != only {
			continue
		}
		if s.Meets() {
			open.meetings++
		}
		c.Events = append(c.Events, meetingEvent(s, identity, seat.Member))
	}
	if len(c.Events) == 0 {
		return file, open, nil
	}
	data, err := ical.Write(c)
	return bot.File{Name: "shortday.ics", Type: ical.Type, Alt: "A calendar of " + open.says("", "", ""), Data: data}, open, err
}

// meetingEvent is a handover at its hour, for the one who gives or the one who receives.
func meetingEvent(s register.Swap, identity string, own register.Member) ical.Event {
	e := ical.Event{
		UID: fmt.Sprintf("swap-%d-%d@%s.shortday", s.ID, own.ID, identity), Sequence: s.Revision(), At: s.Meeting.At, Place: s.Meeting.Spot,
		Title:       "Receive: " + s.What(),
		Description: fmt.Sprintf("Swap %d: %s.\nThe hour is told as %s.", s.ID, s.Sentence(), calendar.Instant{At: s.Meeting.At}),
		Cancelled:   s.Meeting.Off || s.State == register.SwapCanceled,
		Done:        s.State == register.HandedOver || s.State == register.Arrived,
		Alarm:       ical.HourBefore,
	}
	if s.Giver == own.ID {
		e.Title = "Hand over: " + s.What()
	}
	if e.Done {
		e.Title += " (done)"
	}
	return e
}

func jobEvent(j register.Job, identity string, pinch bool) ical.Event {
	e := ical.Event{
		UID: fmt.Sprintf("%d-%s@%s.shortday", j.Plan, j.Kind, identity), Sequence: j.Seq, Day: j.Due,
		Title: upper(j.Kind.Name(pinch)) + ": " + j.Name, Description: upper(j.Kind.Phrase(pinch)) + ".",
		Cancelled: j.State == register.JobSkipped || j.State == register.JobDropped,
		Done:      j.State == register.JobDone,
		Alarm:     alarmOf(j),
	}
	switch {
	case e.Done:
		e.Title += " (done)"
		return e
	case j.Clock != "":
		e.Description += "\nBy the clock: " + j.Clock + "."
	}
	if j.Window.Earliest != j.Window.Latest {
		e.Description += fmt.Sprintf("\nNine years in ten between %s and %s.", j.Window.Earliest.Long(), j.Window.Latest.Long())
	}
	if !j.LastSafe.IsZero() {
		e.Description += fmt.Sprintf("\nThe last safe day is %s. After it %s.", j.LastSafe.Long(), j.Lost)
	}
	if j.Rule != "" {
		e.Description += "\nWhy: " + j.Rule + "."
	}
	return e
}

// alarmOf calls in the evening to what is done in the evening, and the evening before to what depends on its day.
func alarmOf(j register.Job) ical.Alarm {
	switch {
	case j.Kind.Hour() == crop.Evening:
		return ical.SameEvening
	case !j.LastSafe.IsZero() || slices.Contains([]crop.Kind{crop.Wake, crop.CutWater, crop.Cut, crop.Stop, crop.SecondStop, crop.BlackOut, crop.BlackOutEnd, crop.Light, crop.LightEnd}, j.Kind):
		return ical.EveningBefore
	}
	return ical.NoAlarm
}
