package register

import (
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
)

// fromBox is the least time from boxing to a bloom, in days: cold, waking, rooting, growing on and the weeks from the
// stop, which for lates are 22. A box younger than that holds stools of the next year.
const fromBox = 155

// stand is a stage at which plants are, and since when.
type stand struct {
	stage crop.Stage
	since calendar.Day
}

// standing adds what the plants themselves show: plants that are at a stage have come to it, whether they were entered
// so or the step was recorded. What grew before the plan's year counts for another one. Boxed stools count from the
// year before, and not where plants of the plan have grown since before they were boxed.
func standing(p Plan, stands []stand, done []crop.Done) []crop.Done {
	grows := false
	for _, s := range stands { // by day
		switch {
		case s.stage != crop.Boxed && s.since < p.Since:
			continue
		case s.stage != crop.Boxed:
			grows = true
		case grows || !p.Keeps() && s.since > p.Wanted.From.Add(-fromBox):
			continue
		}
		for _, kind := range crop.StepsTo(s.stage) {
			if d := (crop.Done{Kind: kind, On: s.since}); !slices.Contains(done, d) {
				done = append(done, d)
			}
		}
	}
	return done
}
