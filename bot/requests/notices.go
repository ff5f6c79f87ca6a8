package requests

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"time"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

const (
	never   = "never"
	hereNow = "here"
	// shownTimes is how many of the next notices or reminders are shown.
	shownTimes = 3
)

func (c counter) notices() bot.Request {
	return bot.Request{
		Name:     "notices",
		Help:     "What the group is told and when; without fields it shows what is set",
		Examples: []string{"/coop notices", `/coop notices times:"weekdays 6:30" week-ahead:sunday care:yes`, "/coop notices channel:here times:07:00"},
		Right:    bot.Member,
		Fields: []bot.Field{
			channelField(), timesField(),
			{Name: "week-ahead", Help: "the day that tells the week ahead, or none", Kind: bot.ChoiceKind, Choices: weekdayChoices()},
			{Name: "care", Help: "yes to tell routine care, such as watering, in a line", Kind: bot.YesKind},
			{Name: "calls", Help: "no to call nobody, not even members who asked to be called", Kind: bot.YesKind},
			{Name: "stewards", Help: "the role of the server that makes a steward", Kind: bot.RoleKind},
			{Name: "no-role", Help: "yes for no such role", Kind: bot.YesKind},
		},
		Handle: c.coopNotices,
	}
}

// channelField and timesField say where and when the group is told; /coop setup has them too, since a co-op is set up with
// them.
func channelField() bot.Field {
	return bot.Field{Name: "channel", Help: "where notices go: a channel of the server, or here in a terminal", Kind: bot.ChannelKind}
}

func timesField() bot.Field {
	return bot.Field{Name: "times", Help: "07:00, weekdays 6:30, mon,thu 7pm, five cron fields, or never", Kind: bot.TextKind}
}

func weekdayChoices() []bot.Choice {
	var days []string
	for d := time.Monday; d <= time.Saturday+1; d++ {
		days = append(days, strings.ToLower((d % 7).String()))
	}
	return bot.Choices(append(days, none)...)
}

func (c counter) coopNotices(ctx context.Context, in *bot.In) (bot.Reply, error) {
	if !told(in) {
		seat := c.seat(ctx, in)
		if err := in.Err(); err != nil {
			return bot.Reply{}, err
		}
		return c.showNotices(ctx, in, seat, "")
	}
	readNotices(in, register.NoticeSetting{}) // all faults before anything is stored
	seat := c.enter(ctx, in)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	before, err := c.reg.Notices(ctx, seat.Coop.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	after := readNotices(in, before)
	if err := c.reg.SetNotices(ctx, register.Actor{Member: seat.Member.ID, At: in.At}, after); err != nil {
		return bot.Reply{}, err
	}
	done := changes(noticeFacts(before), noticeFacts(after))
	if len(done) == 0 {
		done = []string{"It was set so already."}
	}
	return c.showNotices(ctx, in, seat, strings.Join(done, "\n"))
}

// readWhere gives the setting as the fields for where and when change it.
func readWhere(in *bot.In, set register.NoticeSetting) register.NoticeSetting {
	if in.Has("channel") {
		set.Adapter, set.Place = readChannel(in)
	}
	put(in, "times", &set.Times, func(field string) string { return bot.Take(in, field, readTimes) })
	return set
}

// setWhere keeps where and when the group is told, as the fields of /coop setup say, and gives what changed.
func (c counter) setWhere(ctx context.Context, in *bot.In, actor register.Actor, seat register.Seat) (string, error) {
	if !in.Has("channel") && !in.Has("times") {
		return "", nil
	}
	before, err := c.reg.Notices(ctx, seat.Coop.ID)
	if err != nil {
		return "", err
	}
	after := readWhere(in, before)
	return strings.Join(changes(noticeFacts(before), noticeFacts(after)), "\n"), c.reg.SetNotices(ctx, actor, after)
}

// readNotices gives the setting as the fields change it.
func readNotices(in *bot.In, set register.NoticeSetting) register.NoticeSetting {
	set = readWhere(in, set)
	put(in, "week-ahead", &set.WeekAhead, func(field string) int {
		day := in.Choice(field)
		for d := time.Sunday; d <= time.Saturday; d++ {
			if strings.EqualFold(d.String(), day) {
				return int(d)
			}
		}
		return register.NoDay
	})
	put(in, "care", &set.Care, in.Yes)
	put(in, "calls", &set.Calls, in.Yes)
	put(in, "stewards", &set.StewardsRole, func(field string) string {
		if in.Adapter != string(register.Discord) {
			in.Fail(fault.New(fault.Unclear, "Roles are those of a Discord server. Ask this there, or name a steward with /coop setup steward:."))
		}
		return in.Text(field)
	})
	if in.Yes("no-role") {
		set.StewardsRole = ""
	}
	return set
}

// readChannel gives where notices go: in a chat server a channel, as its adapter names it; in a terminal there is only one place.
func readChannel(in *bot.In) (register.Adapter, string) {
	channel := in.Text("channel")
	if in.Adapter == string(register.Discord) {
		return register.Discord, channel
	}
	if !strings.EqualFold(channel, hereNow) {
		in.Fail(fault.New(fault.Unclear, "A terminal has only one place for notices. Write channel:here, or choose a channel in Discord with /coop notices there."))
	}
	return register.Terminal, ""
}

// readTimes reads times, or never as none; they are kept as they are written shortest.
func readTimes(text string) (string, error) {
	if strings.EqualFold(text, never) {
		return "", nil
	}
	times, err := scheduler.ReadTimes(text, time.UTC) // which they are depends on no zone
	return times.String(), err
}

func noticeFacts(set register.NoticeSetting) []fact {
	where := fact{"channel", hereNow, "in the terminal in which Shortday runs"}
	if set.Adapter == register.Discord {
		where = fact{"channel", set.Place, "the channel of the Discord server, by its number"}
	}
	week := none
	if set.WeekAhead != register.NoDay {
		week = strings.ToLower(time.Weekday(set.WeekAhead).String())
	}
	return []fact{
		where,
		{"times", cmp.Or(set.Times, never), "when the group is told, if there is anything to tell"},
		{"week-ahead", week, "the day that tells the week ahead too"},
		{"care", bot.Yes(set.Care).String(), "routine care is told in a line"},
		{"calls", bot.Yes(set.Calls).String(), "members who asked for it are called to what names them"},
		{"stewards", set.StewardsRole, "the role of the server that makes a steward"},
	}
}

// showNotices tells what is set, or what became of it, and when the next notices come.
func (c counter) showNotices(ctx context.Context, in *bot.In, seat register.Seat, done string) (bot.Reply, error) {
	reply := bot.Reply{Title: "Notices of " + coopName(in, seat), Private: true}
	set := register.NoticeSetting{Adapter: register.Terminal, Times: "07:00", WeekAhead: int(time.Monday), Calls: true} // as every co-op begins
	next := "None comes yet: nothing is planned. /target set aims at a bloom, and /stock add enters plants; either brings its jobs."
	if seat.Coop.ID != 0 {
		var err error
		if set, err = c.reg.Notices(ctx, seat.Coop.ID); err != nil {
			return bot.Reply{}, err
		}
		coming, err := scheduler.NextNotices(ctx, c.reg, seat.Coop.ID, in.At, shownTimes)
		if err != nil {
			return bot.Reply{}, err
		}
		if len(coming) > 0 {
			next = prospects(coming)
		}
	}
	if set.Times == "" {
		next = "None comes until times are set, as in /coop notices times:07:00."
	}
	zone := ""
	if set.Zone == "" && set.Times != "" {
		zone = "The co-op's time zone is not told yet, so the hour is that of UTC. /coop setup zone: tells it."
	}
	if done == "" {
		facts := noticeFacts(set)
		if in.Adapter == string(register.Discord) && set.Adapter != register.Discord {
			facts[0].basis += "; choose a channel of this server"
		}
		reply.Rows = factTable(facts)
	} else {
		reply.Next = append(reply.Next, bot.Next{Label: "Show all that is set", Request: "/coop notices"})
	}
	reply.Text = paragraphs(done, next, zone)
	reply.Next = append(reply.Next, bot.Next{Label: "Your own reminders", Request: "/grower reminders"})
	return reply, nil
}

// prospects tells when something comes and how much, a line each.
func prospects(coming []scheduler.Prospect) string {
	lines := []string{"As things stand now the next come, by the clock of " + coming[0].At.Location().String() + ":"}
	for _, p := range coming {
		var words []string
		if p.Jobs > 0 {
			words = append(words, plural(p.Jobs, "thing", "things")+" to tell")
		}
		if p.Week > 0 {
			words = append(words, "the week ahead")
		}
		lines = append(lines, fmt.Sprintf("%s, %s: %s", calendar.DayAt(p.At).Long(), p.At.Format("15:04"), listed(words)))
	}
	return strings.Join(lines, "\n")
}
