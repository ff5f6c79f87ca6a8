package scheduler

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

const (
	mostListed  = 8 // jobs in a reminder; the others come next
	mostOffered = 3 // jobs whose later days are all offered; with more, the day is asked for
)

// reminder is what one member is told in the making.
type reminder struct {
	seat   register.Seat
	pinch  bool
	span   span
	missed []calendar.Day
	agenda agenda
}

// reminded is one job of a reminder.
type reminded struct {
	job   register.OpenJob
	about register.About
	words string
}

func composeReminder(ctx context.Context, reg *register.Register, n Notice, seat register.Seat, s Subject) (Notice, bool, error) {
	set, err := reg.Reminders(ctx, s.Member)
	if err != nil || !set.Wanted || set.Paused != "" {
		return n, false, err
	}
	r := reminder{seat: seat, pinch: seat.Coop.StopWord == register.SayPinch, missed: s.Missed, span: span{s.Day, s.Day.Add(1)}}
	if s.Kind == Morning {
		if r.span, err = spanFrom(set.Times, s.Day); err != nil {
			return n, false, err
		}
	}
	open, err := reg.OpenOfMember(ctx, s.Member, r.span.horizon(), [2]calendar.Day{s.Day, r.span.next})
	if err != nil {
		return n, false, err
	}
	r.agenda = agendaOf(open, r.span)
	if s.Kind == Evening {
		n.Title = "This evening in " + cut(seat.Coop.Name, nameRoom) + ", " + s.Day.Long()
		return r.write(n, r.tonight(), nil)
	}
	var care []register.CareJob
	if set.Care {
		if care, err = reg.Care(ctx, s.Member, s.Day, r.span.next.Add(-1)); err != nil {
			return n, false, err
		}
	}
	lost, err := outOfReach(ctx, reg, s, s.Member)
	if err != nil {
		return n, false, err
	}
	n.Title = "Your jobs in " + cut(seat.Coop.Name, nameRoom) + ", " + s.Day.Long()
	care = slices.DeleteFunc(care, func(c register.CareJob) bool { return !r.span.cares(c.Care) })
	return r.write(n, r.morning(), append(r.warnings(lost), r.care(care)))
}

// tonight gives the jobs of the evening.
func (r reminder) tonight() []reminded {
	var jobs []reminded
	for _, j := range r.agenda.evening {
		jobs = append(jobs, reminded{j, register.SayDue, r.name(j)})
	}
	return jobs
}

// morning gives the jobs of the day, overdue ones first and of those what was not told before; what is done in the
// evening is told in the evening.
func (r reminder) morning() []reminded {
	var untold, late, due []reminded
	for _, j := range r.agenda.overdue {
		words := r.name(j) + ", overdue since " + j.Due.Annual().String()
		if j.Told.Due {
			late = append(late, reminded{j, register.SayOverdue, words})
		} else {
			untold = append(untold, reminded{j, register.SayOverdue, words})
		}
	}
	for _, j := range slices.Concat(r.agenda.today, r.agenda.coming) {
		if j.Kind.Hour() == crop.Evening {
			continue
		}
		words := r.name(j)
		if j.Due > r.span.day {
			words += ", on " + dayAhead(j.Due)
		}
		if !j.Window.Known() {
			words += ", between " + j.Window.Earliest.Annual().String() + " and " + j.Window.Latest.Annual().String()
		}
		if j.Clock != "" {
			words += ", " + j.Clock
		}
		due = append(due, reminded{j, register.SayDue, words})
	}
	return slices.Concat(untold, late, due)
}

func (r reminder) name(j register.OpenJob) string { return upper(j.Kind.Name(r.pinch)) + " " + j.Name }

// told is a sentence of a reminder besides its jobs, with what it tells.
type told struct {
	text   string
	words  []register.Word
	offers []Offer
}

// warnings tell of last safe days, of stops and short days a week ahead, and of targets out of reach.
func (r reminder) warnings(lost []register.Plan) []told {
	var all []told
	warnings := append(safeWarnings(r.agenda.safe, r.span.day, r.pinch), aheadWarnings(r.agenda.ahead, r.span.day, r.pinch)...)
	for _, w := range warnings {
		var names []string
		var words []register.Word
		for _, it := range w.items {
			names, words = append(names, it.what), append(words, it.words...)
		}
		text := w.head + ": " + listed(names) + "."
		if w.tail != "" {
			text += " " + w.tail
		}
		all = append(all, told{text: text, words: words})
	}
	for _, p := range lost {
		all = append(all, told{text: "Out of reach: " + reachWords(p), words: []register.Word{{Plan: p.ID, About: register.SayMissed}}})
	}
	return all
}

// care tells the routine care of the day in one line; the watering of plants in flower is for mornings only.
func (r reminder) care(care []register.CareJob) told {
	var t told
	var words []string
	offered := map[crop.Kind]bool{}
	for _, c := range care {
		what := c.Kind.Name(r.pinch)
		if c.Kind == crop.Water && c.Stage == crop.Housed {
			what += " (in the morning only)"
		}
		var names []string
		for _, b := range c.Batches {
			if !slices.Contains(names, b.Name) {
				names = append(names, b.Name)
			}
		}
		const most = 3
		if rest := len(names) - most; rest > 0 {
			names = append(names[:most], fmt.Sprintf("%d more", rest))
		}
		words = append(words, what+" "+listed(names))
		if !offered[c.Kind] {
			offered[c.Kind] = true
			t.offers = append(t.offers, Offer{"Done: " + c.Kind.Name(r.pinch) + ", for all that need it", typed("/job done", "job", c.Kind.Name(false))})
		}
	}
	if len(words) > 0 {
		t.text = "Routine care: " + strings.Join(words, "; ") + "."
	}
	return t
}

func (r reminder) write(n Notice, jobs []reminded, besides []told) (Notice, bool, error) {
	var lines, paragraphs []string
	listed := jobs[:min(mostListed, len(jobs))]
	for _, j := range listed {
		lines = append(lines, j.words)
		n.Said = append(n.Said, word(j.job, j.about))
		n.Next = append(n.Next, r.offers(j.job, len(listed) <= mostOffered)...)
	}
	if rest := len(jobs) - len(listed); rest > 0 {
		lines = append(lines, fmt.Sprintf("%s next time; /job due has all.", plural(rest, "more comes", "more come")))
		n.Next = append(n.Next, Offer{"All that is due", "/job due"})
	}
	paragraphs = append(paragraphs, strings.Join(lines, "\n"))
	if w := r.agenda.waits; w > 0 && len(jobs) > 0 {
		paragraphs = append(paragraphs, plural(w, "more waits", "more wait")+" for an overdue one.")
	}
	for _, t := range besides {
		paragraphs = append(paragraphs, t.text)
		n.Said, n.Next = append(n.Said, t.words...), append(n.Next, t.offers...)
	}
	paragraphs = slices.DeleteFunc(paragraphs, func(p string) bool { return p == "" })
	if len(paragraphs) == 0 {
		return n, false, nil
	}
	n.Text = strings.Join(append(piledUp(r.missed), paragraphs...), "\n\n")
	return n, true, nil
}

// offers are done, later and skip of a job; it can be put off only to a day after the one it is due on.
func (r reminder) offers(j register.OpenJob, days bool) []Offer {
	name, label := jobName(j), j.Kind.Name(r.pinch)+" "+j.Name
	offers := []Offer{{"Done: " + label, typed("/job done", "job", name)}}
	if !days {
		offers = append(offers, Offer{"Later: " + label, typed("/job later", "job", name)})
	}
	for _, to := range []struct {
		label, text string
		day         calendar.Day
	}{{"Tomorrow: ", "tomorrow", r.span.day.Add(1)}, {"In 3 days: ", "in 3 days", r.span.day.Add(3)}, {"Next week: ", "next week", r.span.day.Add(7)}} {
		if days && to.day > j.Due {
			offers = append(offers, Offer{to.label + label, typed("/job later", "job", name, "to", to.text)})
		}
	}
	return append(offers, Offer{"Skip: " + label, typed("/job skip", "job", name)})
}

// jobName names a job in a field as the requests read it: with the target's day where there is one.
func jobName(j register.OpenJob) string {
	name := j.Kind.Name(false) + " " + j.Name
	if !j.Wanted.IsZero() {
		name += " " + j.Wanted.String()
	}
	return name
}

// typed writes a request from pairs of field and text, as it is typed.
func typed(request string, pairs ...string) string {
	escape := strings.NewReplacer(`\`, `\\`, `"`, `\"`)
	for i := 0; i+1 < len(pairs); i += 2 {
		request += " " + pairs[i] + `:"` + escape.Replace(pairs[i+1]) + `"`
	}
	return request
}

// piledUp says since when nothing was told.
func piledUp(missed []calendar.Day) []string {
	if len(missed) == 0 {
		return nil
	}
	return []string{fmt.Sprintf("Nothing was told for %s, since %s: this is what piled up.", plural(len(missed), "day", "days"), missed[0].Long())}
}
