package scheduler

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// WaitsFor tells of open jobs which overdue one a job waits for: the first step of its plan that its plants have still
// to come through. With waking missed, there is nothing to pot.
func WaitsFor(jobs []register.Job, today calendar.Day) func(register.Job) (first register.Job, waits bool) {
	type step struct {
		plan int64
		kind crop.Kind
	}
	overdue := map[step]register.Job{}
	for _, j := range jobs {
		if j.Due < today {
			overdue[step{j.Plan, j.Kind}] = j
		}
	}
	return func(j register.Job) (first register.Job, waits bool) {
		for k := j.Kind.Needs(); k != ""; k = k.Needs() {
			if before, ok := overdue[step{j.Plan, k}]; ok {
				first, waits = before, true
			}
		}
		return first, waits
	}
}
