package scheduler

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// span is the time that one notice is for: the day struck and all days before the next one.
type span struct {
	day, next calendar.Day
}

// horizon is the last day that a notice looks ahead to.
func (s span) horizon() calendar.Day { return max(s.day.Add(weekLong), s.next) }

// weekLong is how long before a stop or the start of short days a word is said of it.
const weekLong = 7

// agenda is what there is to tell of open jobs, each part in the order of the jobs.
type agenda struct {
	overdue, today, evening, coming []register.OpenJob
	ahead, safe                     []register.OpenJob
	week                            []register.OpenJob // what comes after the span, up to its horizon
	waits                           int                // jobs that wait for an overdue one and are not told
}

// agendaOf sorts out of open jobs what is to be told in a span and was not told yet.
func agendaOf(open []register.OpenJob, s span) agenda {
	var a agenda
	jobs := make([]register.Job, len(open))
	for i, j := range open {
		jobs[i] = j.Job
	}
	waitsFor := WaitsFor(jobs, s.day)
	for _, j := range open {
		if !j.Told.LastSafe && s.day <= j.LastSafe && j.LastSafe <= s.next {
			a.safe = append(a.safe, j)
		}
		// A stop is told even where what comes before it was not recorded: who misses it loses the bloom.
		if _, waits := waitsFor(j.Job); waits && !short(j.Kind) {
			if j.Due < s.next {
				a.waits++
			}
			continue
		}
		switch told := j.Told; {
		case j.Due < s.day && !told.Overdue:
			a.overdue = append(a.overdue, j)
		case j.Due < s.day:
		case j.Due > s.horizon():
		case j.Due >= s.next:
			a.week = append(a.week, j)
			if short(j.Kind) && !told.Ahead && j.Due <= s.day.Add(weekLong) {
				a.ahead = append(a.ahead, j)
			}
		case told.Due:
		case j.Due > s.day:
			a.coming = append(a.coming, j)
		case j.Kind.Hour() == crop.Evening:
			a.evening = append(a.evening, j)
		default:
			a.today = append(a.today, j)
		}
	}
	return a
}

// short reports whether a step is a stop or begins short days.
func short(k crop.Kind) bool {
	return k == crop.Stop || k == crop.SecondStop || k == crop.BlackOut || k == crop.LightEnd
}

// word is what a notice says of a job.
func word(j register.OpenJob, about register.About) register.Word {
	w := register.Word{Plan: j.Plan, Step: j.Kind, About: about}
	switch about {
	case register.SayDue, register.SayOverdue:
		w.On = j.Due
	case register.SayLastSafe:
		w.On = j.LastSafe
	}
	return w
}
