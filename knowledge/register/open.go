package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/calendar"
)

// OpenJob is an open job with its target, and what was told of it already to the group or the member it is looked up for.
type OpenJob struct {
	Job
	Wanted calendar.Day // the bloom aimed at; zero where the variety is only kept
	Told   Told
}

// Told is what was told of a job: of the days that now hold, and of Ahead whatever the day.
type Told struct {
	Due, Overdue, Ahead, LastSafe bool
}

const (
	selectOpen = `
SELECT j.plan, j.kind, j.coop, j.member, m.name, j.variety, v.name, j.earliest, j.likely, j.latest, j.due, j.state, j.rule, j.source,
       j.last_safe, j.lost, j.clock, j.seq, p.bloom_from,
       EXISTS (SELECT 1 FROM said s WHERE s.plan = j.plan AND s.step = j.kind AND s.about = 'due' AND s.day = j.due AND s.told = $1),
       EXISTS (SELECT 1 FROM said s WHERE s.plan = j.plan AND s.step = j.kind AND s.about = 'overdue' AND s.day = j.due AND s.told = $1),
       EXISTS (SELECT 1 FROM said s WHERE s.plan = j.plan AND s.step = j.kind AND s.about = 'ahead' AND s.day = '' AND s.told = $1),
       EXISTS (SELECT 1 FROM said s WHERE s.plan = j.plan AND s.step = j.kind AND s.about = 'last-safe' AND s.day = j.last_safe AND s.told = $1)
FROM job j JOIN plan p ON p.id = j.plan JOIN variety v ON v.id = j.variety JOIN member m ON m.id = j.member
`
	byDay          = ` ORDER BY j.due, m.folded, j.member, v.folded, j.kind, j.plan`
	present        = `NOT EXISTS (SELECT 1 FROM reach r WHERE r.member = m.id AND r.away > 0)`
	selectOpenCoop = selectOpen + `
WHERE j.coop = $2 AND j.state = 'open' AND (j.due <= $3 OR j.last_safe <> '' AND j.last_safe BETWEEN $4 AND $5) AND ` + present + byDay
	selectOpenMember = selectOpen + `
WHERE j.member = $2 AND j.state = 'open' AND (j.due <= $3 OR j.last_safe <> '' AND j.last_safe BETWEEN $4 AND $5)` + byDay
)

func scanOpen(row scanner) (o OpenJob, err error) {
	j := &o.Job
	err = row.Scan(&j.Plan, &j.Kind, &j.Coop, &j.Member, &j.Owner, &j.Variety, &j.Name, (*day)(&j.Window.Earliest), (*day)(&j.Window.Likely),
		(*day)(&j.Window.Latest), (*day)(&j.Due), &j.State, &j.Rule, &j.Source, (*day)(&j.LastSafe), &j.Lost, &j.Clock, &j.Seq,
		(*day)(&o.Wanted), &o.Told.Due, &o.Told.Overdue, &o.Told.Ahead, &o.Told.LastSafe)
	return o, err
}

// OpenOfCoop gives the open jobs of a co-op's members, but those who left its server, that are due up to a day, or whose last safe day is among two, by day, member
// and variety; Told is what the group was told.
func (r *Register) OpenOfCoop(ctx context.Context, coop int64, until calendar.Day, safe [2]calendar.Day) ([]OpenJob, error) {
	return r.open(ctx, selectOpenCoop, 0, coop, until, safe)
}

// OpenOfMember gives the same of one member; Told is what that member was told.
func (r *Register) OpenOfMember(ctx context.Context, member int64, until calendar.Day, safe [2]calendar.Day) ([]OpenJob, error) {
	return r.open(ctx, selectOpenMember, member, member, until, safe)
}

func (r *Register) open(ctx context.Context, query string, told, whose int64, until calendar.Day, safe [2]calendar.Day) (all []OpenJob, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanOpen, query, told, whose, day(until), day(safe[0]), day(safe[1]))
		return err
	})
	return all, err
}

const (
	unsaidTargets = selectPlans + `
WHERE p.coop = $2 AND p.ended = '' AND p.bloom_from <> '' AND p.bloomed = '' AND ($3 = 0 OR p.member = $3)
  AND (p.missed <> '' OR p.refusal <> '' OR EXISTS (SELECT 1 FROM job j WHERE j.plan = p.id AND j.state = 'open' AND j.last_safe <> '' AND j.last_safe < $4))
  AND NOT EXISTS (SELECT 1 FROM said s WHERE s.plan = p.id AND s.step = '' AND s.about = 'missed' AND s.told = $1)
  AND ` + present + `
ORDER BY m.folded, p.id`
)

// Doubtful gives the targets of a co-op, or of one member where that is not 0, that may be out of reach today, of which
// neither the group nor that member was told yet. Reckon tells whether they are.
func (r *Register) Doubtful(ctx context.Context, coop, member int64, today calendar.Day) (all []Plan, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanPlan, unsaidTargets, member, coop, member, day(today))
		return err
	})
	return all, err
}
