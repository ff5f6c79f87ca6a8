package requests

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

// waiting parts jobs into those that can be done and those, counted by the job they wait for, that have to wait.
func waiting(jobs []register.Job, today calendar.Day) (ready []register.Job, waits map[register.Job]int) {
	waits = map[register.Job]int{}
	waitsFor := scheduler.WaitsFor(jobs, today)
	for _, j := range jobs {
		if first, wait := waitsFor(j); wait {
			waits[first]++
		} else {
			ready = append(ready, j)
		}
	}
	return ready, waits
}
