package register

import (
	"context"
	"database/sql"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/variety"
)

// Plans of one member of which the cases are wanted, as the beginning of a query: q has their rows.
const (
	onePlan = `
WITH q (id, member, variety, since) AS (SELECT CAST($1 AS INTEGER), CAST($2 AS INTEGER), CAST($3 AS INTEGER), CAST($4 AS TEXT))`
	runningTargets = `
WITH q (id, member, variety, since) AS (SELECT id, member, variety, since FROM plan WHERE member = $1 AND ended = '' AND bloom_from <> '' AND bloom_from >= $2)`
)

// What a case rests on, of all plans at once. CROSS JOIN keeps q in front, so that each is found by its index.
const (
	caseVarieties = ` SELECT ` + varietyColumns + ` FROM variety WHERE id IN (SELECT variety FROM q)`
	caseStops     = `
SELECT s.variety, s.member IS NOT NULL, s.on_day, s.second, s.bloom, s.lat, s.source
FROM (SELECT DISTINCT member, variety FROM q) o CROSS JOIN stop s
WHERE s.variety = o.variety AND (s.member IS NULL OR s.member = o.member) ORDER BY s.on_day, s.id`
	caseResponses = `
SELECT r.variety, r.weeks FROM (SELECT DISTINCT member, variety FROM q) o CROSS JOIN own_response r WHERE r.variety = o.variety AND r.member = o.member`

	// What was done for a plan: what was recorded on it, and what was done this year for the variety at large. The year
	// begins with the boxing that ended the one before.
	caseDone = `
SELECT q.id, e.step, e.day FROM q CROSS JOIN event e LEFT JOIN plan p ON p.id = e.plan
WHERE e.member = q.member AND e.variety = q.variety AND e.deed IN ('done', 'bloom') AND e.step <> '' AND e.undone_at = 0
  AND (e.day > q.since AND (e.plan IS NULL OR e.plan = q.id OR p.bloom_from = '' OR p.ending = 'dropped') OR e.day = q.since AND e.step = 'box')
  AND e.day >= q.since
ORDER BY e.day, e.id`
	// Stools woken for one target give cuttings for every one, unless others rest still.
	caseStands = `
SELECT DISTINCT q.id, b.stage, b.since FROM q CROSS JOIN batch b LEFT JOIN plan p ON p.id = b.plan AND p.ended = '' AND p.bloom_from <> ''
WHERE b.member = q.member AND b.variety = q.variety AND b.ended = ''
  AND (COALESCE(p.id, 0) IN (0, q.id) OR b.stage = 'woken' AND NOT EXISTS (
       SELECT 1 FROM batch o WHERE o.member = q.member AND o.variety = q.variety AND o.ended = '' AND o.stage = 'boxed'))
ORDER BY b.since, b.stage`
	caseBloomed = `
SELECT q.id, min(CASE WHEN b.full <> '' THEN b.full WHEN b.opened <> '' THEN b.opened ELSE b.picked END)
FROM q CROSS JOIN event e JOIN bloom b ON b.event = e.id WHERE e.plan = q.id AND e.undone_at = 0 GROUP BY q.id`

	// The stop of the plan of a bloom e: what was recorded on it, else what was done this year for the variety at large.
	stoppedOn = `COALESCE(
           (SELECT max(s.day) FROM event s WHERE s.plan = e.plan AND s.step = 'stop' AND s.deed = 'done' AND s.undone_at = 0),
           (SELECT max(s.day) FROM plan own JOIN event s ON s.member = own.member AND s.variety = own.variety AND s.day > own.since AND s.day <= e.day
                   LEFT JOIN plan p ON p.id = s.plan
            WHERE own.id = e.plan AND s.step = 'stop' AND s.deed = 'done' AND s.undone_at = 0
              AND (s.plan IS NULL OR p.bloom_from = '' OR p.ending = 'dropped')))`

	// One row a season: the days recorded for a plan, or for a year where there is no plan. Short days begin with
	// black-out, or when lighting ends.
	caseRecords = `
SELECT e.variety, e.member, COALESCE(e.plan, 0), b.way, min(b.lat),
       COALESCE(max(` + stoppedOn + `), ''),
       COALESCE(max((SELECT max(s.day) FROM event s WHERE s.plan = e.plan AND s.deed = 'done' AND s.undone_at = 0
                     AND s.step = CASE b.way WHEN 'black-out' THEN 'black-out' WHEN 'lights' THEN 'light-end' ELSE '-' END)), ''),
       COALESCE(min(NULLIF(b.opened, '')), ''), COALESCE(min(NULLIF(b.full, '')), ''), COALESCE(min(NULLIF(b.picked, '')), '')
FROM (SELECT DISTINCT variety FROM q) o CROSS JOIN event e JOIN bloom b ON b.event = e.id
WHERE e.variety = o.variety AND e.deed = 'bloom' AND e.undone_at = 0
GROUP BY e.variety, e.member, COALESCE(e.plan, 0), substr(e.day, 1, 4), b.way
ORDER BY max(e.day), min(e.id)`
)

// seasons are the blooms on record by variety, read once for all the cases that rest on them.
type seasons map[int64][]seasonSeen

// seasonSeen is one season of a member, of a plan or of none.
type seasonSeen struct {
	member, plan int64
	crop.Record
}

// of gives the blooms that a plan may learn from: all but its own.
func (s seasons) of(p Plan) (records []crop.Record) {
	for _, seen := range s[p.Variety] {
		if seen.plan == 0 || seen.plan != p.ID {
			seen.Own = seen.member == p.Member
			records = append(records, seen.Record)
		}
	}
	return records
}

// caseOf gives what a plan rests on.
func caseOf(ctx context.Context, tx *sql.Tx, p Plan) (crop.Case, error) {
	return caseAmong(ctx, tx, p, seasons{})
}

// caseAmong gives what one plan of several rests on.
func caseAmong(ctx context.Context, tx *sql.Tx, p Plan, seen seasons) (crop.Case, error) {
	cases, err := casesOf(ctx, tx, []Plan{p}, seen, onePlan, p.ID, p.Member, p.Variety, day(p.Since))
	if err != nil {
		return crop.Case{}, err
	}
	return cases[0], nil
}

// casesOf gives what plans of one member rest on, in their order: in as many statements for many as for one. The plans
// are those that a query's beginning finds; seen has the blooms that were read before, and those that are read now.
func casesOf(ctx context.Context, tx *sql.Tx, plans []Plan, seen seasons, with string, args ...any) ([]crop.Case, error) {
	if len(plans) == 0 {
		return nil, nil
	}
	seat, err := seatOf(ctx, tx, plans[0].Member)
	if err != nil {
		return nil, err
	}
	set, err := settings(ctx, tx, seat.Coop.ID)
	if err != nil {
		return nil, err
	}
	kinds, err := caseKinds(ctx, tx, with, args...)
	if err != nil {
		return nil, err
	}
	cases, at := make([]crop.Case, len(plans)), map[int64]int{}
	for i, p := range plans {
		at[p.ID] = i
		cases[i] = crop.Case{Variety: kinds[p.Variety], Place: seat.Place(), Wanted: p.Wanted, Setting: crop.Setting{StopShift: set[StopShift]}}
	}
	stands := make([][]stand, len(plans))
	var id int64
	for query, keep := range map[string]func(scanner) error{
		caseDone: func(row scanner) error {
			var d crop.Done
			err := row.Scan(&id, &d.Kind, (*day)(&d.On))
			cases[at[id]].Done = append(cases[at[id]].Done, d)
			return err
		},
		caseStands: func(row scanner) error {
			var s stand
			err := row.Scan(&id, &s.stage, (*day)(&s.since))
			stands[at[id]] = append(stands[at[id]], s)
			return err
		},
		caseBloomed: func(row scanner) error {
			var on calendar.Day
			err := row.Scan(&id, (*day)(&on))
			cases[at[id]].Bloomed = on
			return err
		},
	} {
		if err := each(ctx, tx, keep, with+query, args...); err != nil {
			return nil, err
		}
	}
	if err := seen.read(ctx, tx, plans, with, args...); err != nil {
		return nil, err
	}
	for i, p := range plans {
		cases[i].Done, cases[i].Records = standing(p, stands[i], cases[i].Done), seen.of(p)
	}
	return cases, nil
}

// read reads the blooms of the plans' varieties, unless all of them are there.
func (s seasons) read(ctx context.Context, tx *sql.Tx, plans []Plan, with string, args ...any) error {
	if !slices.ContainsFunc(plans, func(p Plan) bool { _, ok := s[p.Variety]; return !ok }) {
		return nil
	}
	for _, p := range plans {
		s[p.Variety] = nil
	}
	return each(ctx, tx, func(row scanner) error {
		var of int64
		var one seasonSeen
		var first, full, picked calendar.Day
		err := row.Scan(&of, &one.member, &one.plan, &one.Way, &one.Lat, (*day)(&one.Stopped), (*day)(&one.Short), (*day)(&first), (*day)(&full), (*day)(&picked))
		one.Bloomed = fullBloom(first, full, picked)
		s[of] = append(s[of], one)
		return err
	}, with+caseRecords, args...)
}

// caseKinds gives the varieties of plans as their member grows them: own stops and response, where there are any,
// replace the co-op's.
func caseKinds(ctx context.Context, tx *sql.Tx, with string, args ...any) (map[int64]variety.Variety, error) {
	all, err := list(ctx, tx, scanVariety, with+caseVarieties, args...)
	if err != nil {
		return nil, err
	}
	kinds, own := map[int64]variety.Variety{}, map[int64][]variety.Stop{}
	for _, v := range all {
		kinds[v.ID] = v.Variety
	}
	err = each(ctx, tx, func(row scanner) error {
		of, mine, s, err := scanStopOf(row)
		if v := kinds[of]; mine {
			own[of] = append(own[of], s)
		} else {
			v.Stops = append(v.Stops, s)
			kinds[of] = v
		}
		return err
	}, with+caseStops, args...)
	if err != nil {
		return nil, err
	}
	for of, stops := range own {
		v := kinds[of]
		v.Stops = stops
		kinds[of] = v
	}
	return kinds, each(ctx, tx, func(row scanner) error {
		var of int64
		var weeks float64
		err := row.Scan(&of, &weeks)
		if v := kinds[of]; weeks != 0 {
			v.Response = weeks
			kinds[of] = v
		}
		return err
	}, with+caseResponses, args...)
}

// scanStopOf scans a stop with the variety that it is of, and whether it is a member's own.
func scanStopOf(row scanner) (of int64, own bool, s variety.Stop, err error) {
	err = row.Scan(&of, &own, (*annual)(&s.On), (*annual)(&s.Second), (*annual)(&s.Bloom), &s.Lat, &s.Source)
	return of, own, s, err
}
