package scheduler

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// group is the group's notice of a day in the making.
type group struct {
	set    register.NoticeSetting
	pinch  bool
	span   span
	missed []calendar.Day
	agenda agenda
	week   []register.OpenJob // of the week ahead, where its day is struck
	parts  []part
}

// aside is what the group's notice tells besides the jobs of plans; without lines it is left out.
type aside func(ctx context.Context, reg *register.Register, set register.NoticeSetting, s span) (part, error)

// asides gives them in the order in which they stand.
func asides() []aside { return []aside{carePart} }

func composeDaily(ctx context.Context, reg *register.Register, n Notice, coop register.Coop, s Subject, at time.Time) (Notice, bool, error) {
	set, err := reg.Notices(ctx, s.Coop)
	if err != nil {
		return n, false, err
	}
	d := group{set: set, pinch: coop.StopWord == register.SayPinch, missed: s.Missed}
	if d.span, err = spanFrom(set.Times, s.Day); err != nil {
		return n, false, err
	}
	open, err := reg.OpenOfCoop(ctx, s.Coop, d.span.horizon(), [2]calendar.Day{s.Day, d.span.next})
	if err != nil {
		return n, false, err
	}
	lost, err := outOfReach(ctx, reg, s, 0)
	if err != nil {
		return n, false, err
	}
	d.sort(open, lost)
	for _, tell := range asides() {
		more, err := tell(ctx, reg, set, d.span)
		if err != nil {
			return n, false, err
		}
		d.add(more)
	}
	if len(d.parts) == 0 && len(d.week) == 0 {
		return n, false, nil
	}
	n.Title, n.Place = cut(coop.Name, nameRoom)+", "+s.Day.Long(), set.Place
	n, named := d.fit(n)
	return d.call(ctx, reg, n, named, at)
}

// sort makes the parts that tell of jobs.
func (d *group) sort(open []register.OpenJob, lost []register.Plan) {
	d.agenda = agendaOf(open, d.span)
	if d.tellsWeek() {
		d.week = d.agenda.week
	}
	d.add(append(d.overdue(), d.today(), d.evening(), d.coming(), d.ahead(lost))...)
}

func (d *group) add(parts ...part) {
	for _, p := range parts {
		if len(p.lines) > 0 {
			d.parts = append(d.parts, p)
		}
	}
}

// tellsWeek reports whether the weekday of the week ahead is among the days that the notice is for. A notice that is for
// a whole week tells it anyway.
func (d group) tellsWeek() bool {
	if d.span.next.Sub(d.span.day) >= weekLong {
		return false
	}
	names := func(day calendar.Day) bool { return int(day.Weekday()) == d.set.WeekAhead }
	for day := d.span.day; day < d.span.next; day++ {
		if names(day) {
			return true
		}
	}
	return slices.ContainsFunc(d.missed, names)
}

// fit writes the notice as far as one screen has room, and tells whom it names.
func (d group) fit(n Notice) (Notice, []int64) {
	var named []int64
	for _, v := range levels() {
		if n, named = d.write(n, v); n.fits() {
			break
		}
	}
	return n, named
}

func (d group) write(n Notice, v level) (Notice, []int64) {
	paragraphs := []string{d.summary()}
	var named []int64
	var left []string
	n.Said = nil
	cut := false
	for _, p := range d.parts {
		if v.merged {
			p = p.merge(v.steps)
		}
		lines := p.lines[:min(v.lines, len(p.lines))]
		v.lines -= len(lines)
		if rest := countOf(p.lines[len(lines):]); rest > 0 {
			left = append(left, fmt.Sprintf("%d %s", rest, p.rest))
		}
		var texts []string
		for _, l := range lines {
			text, told := l.write(v)
			texts = append(texts, text)
			cut = cut || len(told) < len(l.items)
			for _, it := range told {
				named = append(named, it.member)
				n.Said = append(n.Said, it.words...)
			}
		}
		if len(texts) > 0 {
			paragraphs = append(paragraphs, strings.TrimSpace(p.heading+"\n"+strings.Join(texts, "\n")))
		}
	}
	if len(left) > 0 {
		paragraphs = append(paragraphs, "Also "+listed(left)+".")
	}
	if cut || len(left) > 0 {
		paragraphs = append(paragraphs, "Those not named here come first next time.")
	}
	paragraphs = append(paragraphs, d.weekAhead(v.steps))
	n.Text = strings.Join(slices.DeleteFunc(paragraphs, func(p string) bool { return p == "" }), "\n\n")
	n.Next = d.offers()
	return n, named
}

func countOf(lines []line) int {
	n := 0
	for _, l := range lines {
		n += len(l.items)
	}
	return n
}

// summary tells how much there is, before any of it.
func (d group) summary() string {
	members := map[int64]bool{}
	now := slices.Concat(d.agenda.today, d.agenda.evening, d.agenda.coming)
	for _, j := range now {
		members[j.Member] = true
	}
	var words []string
	if len(now) > 0 {
		when := "today"
		if len(d.agenda.coming) > 0 {
			when = "until " + d.span.next.Add(-1).Long()
		}
		words = append(words, fmt.Sprintf("%s of %s %s", plural(len(now), "job", "jobs"), plural(len(members), "member", "members"), when))
	}
	if n := len(d.agenda.overdue); n > 0 {
		words = append(words, fmt.Sprintf("%d overdue", n))
	}
	text := ""
	if len(words) > 0 {
		text = listed(words) + "."
	}
	if n := d.agenda.waits; n > 0 && len(words) > 0 {
		text += fmt.Sprintf(" %s for an overdue one.", plural(n, "more waits", "more wait"))
	}
	return strings.TrimSpace(strings.Join(append(piledUp(d.missed), text), " "))
}

// overdue gives what is overdue in two parts: first what no notice had room for while it was due, or none was struck for.
func (d group) overdue() []part {
	since := func(j register.OpenJob) string { return j.Name + " since " + j.Due.Annual().String() }
	var late, untold []register.OpenJob
	for _, j := range d.agenda.overdue {
		if j.Told.Due {
			late = append(late, j)
		} else {
			untold = append(untold, j)
		}
	}
	return []part{
		{heading: "Overdue, and not told before", rest: "overdue and not told before", lines: d.byKind(untold, register.SayOverdue, since)},
		{heading: "Overdue", rest: "overdue", lines: d.byKind(late, register.SayOverdue, since)},
	}
}

func (d group) today() part { return d.due("Today", "today", d.agenda.today) }

func (d group) evening() part {
	return d.due("This evening, for tomorrow", "this evening", d.agenda.evening)
}

func (d group) due(heading, rest string, jobs []register.OpenJob) part {
	return part{heading: heading, rest: rest, lines: d.byKind(jobs, register.SayDue, func(j register.OpenJob) string { return j.Name })}
}

func (d group) coming() part {
	return part{heading: "Before the next notice", rest: "before the next notice", lines: d.byKind(d.agenda.coming, register.SayDue,
		func(j register.OpenJob) string { return j.Name + " on " + dayAhead(j.Due) })}
}

// byKind gives a line a kind, in the order of the year.
func (d group) byKind(jobs []register.OpenJob, about register.About, what func(register.OpenJob) string) []line {
	byKind := map[crop.Kind][]item{}
	for _, j := range jobs {
		byKind[j.Kind] = append(byKind[j.Kind], item{j.Member, j.Owner, what(j), []register.Word{word(j, about)}})
	}
	var lines []line
	for _, k := range crop.Kinds() {
		if items := byKind[k]; len(items) > 0 {
			lines = append(lines, line{head: upper(k.Name(d.pinch)), items: items})
		}
	}
	return lines
}

// weekAhead counts the jobs of the week ahead by their kinds, each with its first day.
func (d group) weekAhead(most int) string {
	if len(d.week) == 0 {
		return ""
	}
	number, first := map[crop.Kind]int{}, map[crop.Kind]calendar.Day{}
	for _, j := range d.week { // by day
		if number[j.Kind]++; number[j.Kind] == 1 {
			first[j.Kind] = j.Due
		}
	}
	var words []string
	for _, k := range crop.Kinds() {
		switch n := number[k]; {
		case n == 1:
			words = append(words, fmt.Sprintf("%s on %s", k.Name(d.pinch), first[k].Weekday().String()[:3]))
		case n > 1:
			words = append(words, fmt.Sprintf("%d × %s from %s", n, k.Name(d.pinch), first[k].Weekday().String()[:3]))
		}
	}
	if len(words) > most {
		words = append(words[:most], fmt.Sprintf("%d more kinds", len(words)-most))
	}
	return fmt.Sprintf("The week ahead\n%s: %s.", plural(len(d.week), "job", "jobs"), listed(words))
}

func (d group) offers() []Offer {
	offers := []Offer{{"All that is due in the co-op", "/job due all:yes"}, {"What is due of your own", "/job due"}}
	if len(d.week) > 0 {
		offers[0].Request += " until:" + d.span.horizon().String()
	}
	return offers
}

// call adds the members named who asked to be called, and are not in their quiet hours.
func (d group) call(ctx context.Context, reg *register.Register, n Notice, named []int64, at time.Time) (Notice, bool, error) {
	if !d.set.Calls {
		return n, true, nil
	}
	wanted, err := reg.Called(ctx, d.set.Coop)
	if err != nil {
		return n, false, err
	}
	for _, m := range wanted {
		if !slices.Contains(named, m.Member) {
			continue
		}
		zone, err := location(m.Zone)
		if err != nil {
			return n, false, err
		}
		quiet, err := ReadQuiet(m.Quiet)
		if err != nil {
			return n, false, err
		}
		if local := at.In(zone); quiet.Delay(local).Equal(local) {
			n.Calls = append(n.Calls, Party{m.Key, m.Name})
		}
	}
	return n, true, nil
}
