package requests

import (
	"context"
	"fmt"
	"strings"

	"shortday/bot"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

const (
	turnedOn  = "on"
	turnedOff = "off"
)

func (c counter) reminders() bot.Request {
	return bot.Request{
		Name:     "reminders",
		Help:     "What you are told of your jobs and when; without fields it shows what is set",
		Examples: []string{"/grower reminders", "/grower reminders turn:on times:06:30", `/grower reminders quiet:"21:00-06:00" calls:yes`},
		Fields: []bot.Field{
			{Name: "turn", Help: "on to be reminded of your own jobs, to you alone", Kind: bot.ChoiceKind, Choices: bot.Choices(turnedOn, turnedOff)},
			{Name: "times", Help: "07:00, weekdays 6:30, mon,thu 7, or five cron fields, by your own clock", Kind: bot.TextKind},
			{Name: "quiet", Help: "the hours in which you are told nothing, as in 22:00-07:00, or none", Kind: bot.TextKind},
			{Name: "care", Help: "no to leave out routine care, such as watering", Kind: bot.YesKind},
			{Name: "calls", Help: "yes to be called by name to the group's notices that name you", Kind: bot.YesKind},
			c.forField(),
		},
		Handle: c.growerReminders,
	}
}

func (c counter) growerReminders(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if !told(in, "for") {
		seat := c.seat(ctx, in)
		_, own := c.actor(ctx, in, seat)
		if err := in.Err(); err != nil {
			return bot.Reply{}, err
		}
		return c.showReminders(ctx, in, own, "")
	}
	readReminders(in, register.ReminderSetting{}) // all faults before anything is stored
	seat := c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	before, err := c.reg.Reminders(ctx, own.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	after := readReminders(in, before)
	if err := c.reg.SetReminders(ctx, actor, after); err != nil {
		return bot.Reply{}, err
	}
	done := changes(reminderFacts(before), reminderFacts(after))
	if len(done) == 0 {
		done = []string{"It was set so already."}
	}
	return c.showReminders(ctx, in, own, strings.Join(done, "\n"))
}

// readReminders gives the setting as the fields change it. Whoever turns reminders on can be told again.
func readReminders(in *bot.In, set register.ReminderSetting) register.ReminderSetting {
	put(in, "turn", &set.Wanted, func(field string) bool { return in.Choice(field) == turnedOn })
	if in.Has("turn") {
		set.Paused = ""
	}
	put(in, "times", &set.Times, func(field string) string {
		return bot.Take(in, field, func(text string) (string, error) {
			if strings.EqualFold(text, never) {
				set.Wanted = false
				return set.Times, nil
			}
			return readTimes(text)
		})
	})
	put(in, "quiet", &set.Quiet, func(field string) string {
		return bot.Take(in, field, func(text string) (string, error) {
			quiet, err := scheduler.ReadQuiet(text)
			return quiet.String(), err
		})
	})
	put(in, "care", &set.Care, in.Yes)
	put(in, "calls", &set.Called, in.Yes)
	return set
}

func reminderFacts(set register.ReminderSetting) []fact {
	turned := fact{"turn", turnedOff, "reminders of your own jobs, to you alone"}
	if set.Wanted {
		turned.is = turnedOn
	}
	return []fact{
		turned,
		{"times", set.Times, "by your own clock; what is done the evening before comes at " + scheduler.EveningHour.String()},
		{"quiet", set.Quiet, "hours in which you are told nothing; it comes at their end"},
		{"care", bot.Yes(set.Care).String(), "routine care is told in a line"},
		{"calls", bot.Yes(set.Called).String(), "called by name to the group's notices that name you"},
	}
}

// showReminders tells what is set, or what became of it, and when the next reminders come.
func (c counter) showReminders(ctx context.Context, in *bot.In, own register.Member, done string) (bot.Reply, error) {
	set := register.ReminderSetting{Times: "07:00", Quiet: none, Care: true} // as every member begins
	var reach register.Reach
	var coming []scheduler.Prospect
	if own.ID != 0 {
		var err error
		if set, err = c.reg.Reminders(ctx, own.ID); err != nil {
			return bot.Reply{}, err
		}
		if reach, err = c.reg.Reach(ctx, own.ID); err != nil {
			return bot.Reply{}, err
		}
		if coming, err = scheduler.NextReminders(ctx, c.reg, own.ID, in.At, shownTimes); err != nil {
			return bot.Reply{}, err
		}
	}
	reply := bot.Reply{Title: whose(in, own) + " reminders", Private: true}
	if done == "" {
		reply.Rows = factTable(reminderFacts(set))
	}
	text := prose{}
	text.add("%s", done)
	switch {
	case !set.Wanted:
		text.add("Reminders are off: you are told of your jobs only where the group is.")
		reply.Next = append(reply.Next, bot.Next{Label: "Turn them on", Request: bot.Typed("/grower reminders", "turn", turnedOn, "for", in.Text("for"))})
	case set.Paused != "":
		text.add("They pause: %s. Turn them on again once that is mended.", set.Paused)
		reply.Next = append(reply.Next, bot.Next{Label: "Turn them on", Request: bot.Typed("/grower reminders", "turn", turnedOn, "for", in.Text("for"))})
	case !reach.Closed.IsZero():
		text.add("They pause, since your direct messages are closed to us. Open them for members of the server, and ask anything there.")
	case len(coming) == 0:
		text.add("None comes yet: nothing is planned. /target set aims at a bloom, and /stock add enters plants; either brings its jobs.")
	default:
		text.add("%s", prospects(coming))
	}
	if set.Zone == "" && set.Wanted {
		text.add("%s", fmt.Sprintf("Your time zone is not told yet, so %s is that of UTC. /grower place zone: tells it.", set.Times))
	}
	reply.Text = text.String()
	if done != "" {
		reply.Next = append(reply.Next, bot.Next{Label: "Show all that is set", Request: bot.Typed("/grower reminders", "for", in.Text("for"))})
	}
	return reply, nil
}
