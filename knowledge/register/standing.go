package register

import (
	"context"
	"database/sql"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
)

const selectStanding = `
SELECT DISTINCT b.stage, b.since FROM batch b LEFT JOIN plan p ON p.id = b.plan AND p.ended = '' AND p.bloom_from <> ''
WHERE b.member = $1 AND b.variety = $2 AND b.ended = '' AND COALESCE(p.id, 0) IN (0, $3) ORDER BY b.since`

// fromBox is the least time from boxing to a bloom, in days: cold, waking, rooting, growing on and the weeks from the
// stop, which for lates are 22. A box younger than that holds stools of the next year.
const fromBox = 155

// standing adds what the plants themselves show: plants that are at a stage have come to it, whether they were entered
// so or the step was recorded. What grew before the plan's year counts for another one. Boxed stools count from the
// year before, and not where plants of the plan have grown since before they were boxed.
func standing(ctx context.Context, tx *sql.Tx, p Plan, done []crop.Done) ([]crop.Done, error) {
	type stand struct {
		stage crop.Stage
		since calendar.Day
	}
	stands, err := list(ctx, tx, func(row scanner) (s stand, err error) {
		err = row.Scan(&s.stage, (*day)(&s.since))
		return s, err
	}, selectStanding, p.Member, p.Variety, p.ID)
	if err != nil {
		return nil, err
	}
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
	return done, nil
}
