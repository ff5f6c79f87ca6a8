package scheduler

import (
	"context"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// EveningHour is when a member is told what is done on the evening before another step.
const EveningHour Hour = 18 * 60

// Prospect is a notice or reminder that will come as things stand now.
type Prospect struct {
	At      time.Time // in the addressee's zone
	Evening bool      // a member's reminder of an evening
	Jobs    int       // that it tells of
	Week    int       // jobs of the week ahead that it counts
}

// farthest is how many days ahead is looked for what would come.
const farthest = 400

// NextNotices gives the next notices of a co-op's group that would come, at most so many.
func NextNotices(ctx context.Context, reg *register.Register, coop int64, now time.Time, most int) ([]Prospect, error) {
	set, err := reg.Notices(ctx, coop)
	if err != nil || set.Times == "" {
		return nil, err
	}
	zone, err := location(set.Zone)
	if err != nil {
		return nil, err
	}
	until := calendar.DayAt(now.In(zone)).Add(farthest)
	open, err := reg.OpenOfCoop(ctx, coop, until, [2]calendar.Day{})
	if err != nil {
		return nil, err
	}
	var care []register.CareJob
	if set.Care {
		if care, err = reg.CareOfCoop(ctx, coop, until); err != nil {
			return nil, err
		}
	}
	f := future{open: open, care: care, week: set.WeekAhead}
	return f.look(set.Times, zone, set.Struck, now, most)
}

// NextReminders gives the next reminders of a member that would come, at most so many, each put off to the end of the
// member's quiet hours.
func NextReminders(ctx context.Context, reg *register.Register, member int64, now time.Time, most int) ([]Prospect, error) {
	set, err := reg.Reminders(ctx, member)
	if err != nil || !set.Wanted || set.Paused != "" {
		return nil, err
	}
	zone, err := location(set.Zone)
	if err != nil {
		return nil, err
	}
	quiet, err := ReadQuiet(set.Quiet)
	if err != nil {
		return nil, err
	}
	today := calendar.DayAt(now.In(zone))
	until := today.Add(farthest)
	open, err := reg.OpenOfMember(ctx, member, until, [2]calendar.Day{})
	if err != nil {
		return nil, err
	}
	var care []register.CareJob
	if set.Care {
		if care, err = reg.Care(ctx, member, today, until); err != nil {
			return nil, err
		}
	}
	var morning, evening []register.OpenJob
	for _, j := range open {
		if j.Kind.Hour() == crop.Evening {
			evening = append(evening, j)
		} else {
			morning = append(morning, j)
		}
	}
	f := future{open: morning, care: care, week: register.NoDay}
	mornings, err := f.look(set.Times, zone, set.Struck, now, most)
	if err != nil {
		return nil, err
	}
	f = future{open: evening, week: register.NoDay, evening: true}
	evenings, err := f.look(EveningHour.String(), zone, set.StruckEvening, now, most)
	if err != nil {
		return nil, err
	}
	return inOrder(mornings, evenings, quiet, most), nil
}

// inOrder puts two lists in one order, none within quiet hours.
func inOrder(a, b []Prospect, quiet Quiet, most int) []Prospect {
	var merged []Prospect
	for len(merged) < most && len(a)+len(b) > 0 {
		if len(b) == 0 || len(a) > 0 && !b[0].At.Before(a[0].At) {
			a, b = b, a
		}
		p := b[0]
		p.At = quiet.Delay(p.At)
		merged, b = append(merged, p), b[1:]
	}
	return merged
}

// future is what there is to tell as things stand now.
type future struct {
	open    []register.OpenJob
	care    []register.CareJob
	week    int // the day of the week that tells the week ahead
	evening bool
}

// look strikes the times to come and keeps those at which there is something to say.
func (f future) look(text string, zone *time.Location, last calendar.Day, now time.Time, most int) (found []Prospect, err error) {
	times, err := ReadTimes(text, zone)
	if err != nil {
		return nil, err
	}
	end := calendar.DayAt(now.In(zone)).Add(farthest)
	for s := range times.later(last, now) {
		if len(found) == most || s.Day > end {
			break
		}
		span := span{s.Day, s.Day.Add(1)}
		if next := times.named(span.next); !next.IsZero() && !f.evening {
			span.next = next
		}
		if p := f.tell(span); p.Jobs > 0 || p.Week > 0 {
			p.At, p.Evening = s.At, f.evening
			found = append(found, p)
		}
	}
	return found, nil
}

// tell counts what is told in a span, which then is told.
func (f future) tell(s span) Prospect {
	a := agendaOf(f.open, s)
	p := Prospect{Jobs: len(a.ahead) + len(a.safe)}
	if (group{span: s, set: register.NoticeSetting{WeekAhead: f.week}}).tellsWeek() {
		p.Week = len(a.week)
	}
	told := map[register.Word]bool{}
	for _, jobs := range [][]register.OpenJob{a.overdue, a.today, a.evening, a.coming} {
		if f.evening && len(jobs) > 0 && jobs[0].Due != s.day { // an evening missed is told in the morning
			continue
		}
		p.Jobs += len(jobs)
		for _, j := range jobs {
			told[register.Word{Plan: j.Plan, Step: j.Kind}] = true
		}
	}
	for _, j := range a.ahead {
		told[word(j, register.SayAhead)] = true
	}
	for _, j := range a.safe {
		told[word(j, register.SayLastSafe)] = true
	}
	for i, j := range f.open {
		t := &f.open[i].Told
		if told[register.Word{Plan: j.Plan, Step: j.Kind}] {
			t.Due, t.Overdue = true, t.Overdue || j.Due < s.day
		}
		t.Ahead = t.Ahead || told[word(j, register.SayAhead)]
		t.LastSafe = t.LastSafe || told[word(j, register.SayLastSafe)]
	}
	for _, c := range f.care {
		if s.cares(c.Care) {
			p.Jobs++
		}
	}
	return p
}
