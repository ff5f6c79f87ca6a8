package requests

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// waiting parts jobs into those that can be done and those, counted by the job they wait for, whose plants have still
// to come through an earlier step that is overdue: with waking missed, there is nothing to pot.
func waiting(jobs []register.Job, today calendar.Day) (ready []register.Job, waits map[register.Job]int) {
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
	waits = map[register.Job]int{}
	for _, j := range jobs {
		var first register.Job
		for k := j.Kind.Needs(); k != ""; k = k.Needs() {
			if before, ok := overdue[step{j.Plan, k}]; ok {
				first = before
			}
		}
		if first.Plan != 0 {
			waits[first]++
		} else {
			ready = append(ready, j)
		}
	}
	return ready, waits
}
