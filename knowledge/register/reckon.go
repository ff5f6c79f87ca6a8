package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
)

// Move is an open job that a deed moved.
type Move struct {
	Plan     int64
	Member   int64
	Variety  int64
	Name     string // of the variety
	Kind     crop.Kind
	From, To calendar.Day
}

// Reckoned is a plan with all that crop says of it today.
type Reckoned struct {
	Plan Plan
	Case crop.Case
	Crop crop.Plan
}

// Reckon gives a plan as it stands today, with its case. Nothing is stored.
func (r *Register) Reckon(ctx context.Context, plan int64, today calendar.Day) (out Reckoned, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		if out.Plan, err = planByID(ctx, tx, plan); err != nil {
			return err
		}
		out.Case, err = caseOf(ctx, tx, out.Plan)
		return err
	})
	if err == nil {
		out.Crop = crop.Backwards(out.Case, today)
	}
	return out, err
}

const selectRunningTargets = selectPlans + `WHERE p.member = $1 AND p.ended = '' AND p.bloom_from <> '' AND p.bloom_from >= $2 ORDER BY p.bloom_from, p.id`

// Reckonings gives a member's running targets with a bloom wanted from a day on as they stand today, each as Reckon does.
func (r *Register) Reckonings(ctx context.Context, member int64, from, today calendar.Day) (all []Reckoned, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		plans, err := list(ctx, tx, scanPlan, selectRunningTargets, member, day(from))
		if err != nil {
			return err
		}
		cases, err := casesOf(ctx, tx, plans, seasons{}, runningTargets, member, day(from))
		for i, c := range cases {
			all = append(all, Reckoned{Plan: plans[i], Case: c})
		}
		return err
	})
	for i := range all {
		all[i].Crop = crop.Backwards(all[i].Case, today)
	}
	return all, err
}

// Grown is a variety as one member grows it.
type Grown struct{ Member, Variety int64 }

// Cases gives what plans of several members would rest on, each as Case does: the blooms that are on record of a variety
// are read once for all.
func (r *Register) Cases(ctx context.Context, of []Grown, wanted crop.Target, today calendar.Day) (cases []crop.Case, err error) {
	seen := seasons{}
	err = r.read(ctx, func(tx *sql.Tx) error {
		for _, g := range of {
			from, err := since(ctx, tx, g.Member, g.Variety, wanted, today)
			if err != nil {
				return err
			}
			c, err := caseAmong(ctx, tx, Plan{Member: g.Member, Variety: g.Variety, Since: from, Wanted: wanted}, seen)
			if err != nil {
				return err
			}
			cases = append(cases, c)
		}
		return nil
	})
	return cases, err
}

// Case gives what a plan of a member would rest on, for asking crop before anything is stored; the variety as the
// member grows it, their place, what was done this year, and the blooms on record.
func (r *Register) Case(ctx context.Context, member, variety int64, wanted crop.Target, today calendar.Day) (c crop.Case, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		from, err := since(ctx, tx, member, variety, wanted, today)
		if err != nil {
			return err
		}
		c, err = caseOf(ctx, tx, Plan{Member: member, Variety: variety, Since: from, Wanted: wanted})
		return err
	})
	return c, err
}

// reckonWhere reckons every plan that a query of plans finds.
func reckonWhere(ctx context.Context, tx *sql.Tx, today calendar.Day, query string, args ...any) (moved []Move, err error) {
	plans, err := list(ctx, tx, scanPlan, query, args...)
	if err != nil {
		return nil, err
	}
	for _, p := range plans {
		more, err := reckon(ctx, tx, p, today)
		if err != nil {
			return nil, err
		}
		moved = append(moved, more...)
	}
	return moved, nil
}

const (
	updateReckoned = `
UPDATE plan SET way = $2, earliest = $3, likely = $4, latest = $5, basis = $6, why = $7, refusal = $8, missed = $9,
       bloomed = COALESCE((SELECT min(CASE WHEN b.full <> '' THEN b.full WHEN b.opened <> '' THEN b.opened ELSE b.picked END)
                           FROM bloom b JOIN event e ON e.id = b.event WHERE e.plan = plan.id AND e.undone_at = 0), '')
WHERE id = $1`
	dropJobs = `UPDATE job SET state = 'dropped', seq = seq + 1 WHERE plan = $1 AND state = 'open'`
)

// reckon brings the jobs of a plan in line with all that is known, and tells which open ones moved. What was done,
// skipped or put off is read from the events that stand; so an undo needs no more than another reckoning.
func reckon(ctx context.Context, tx *sql.Tx, p Plan, today calendar.Day) ([]Move, error) {
	c, err := caseOf(ctx, tx, p)
	if err != nil {
		return nil, err
	}
	reckoned := crop.Backwards(c, today)
	refusal := ""
	if reckoned.Refusal != nil {
		refusal = reckoned.Refusal.Why
	}
	bloom := reckoned.Bloom
	err = exec(ctx, tx, updateReckoned, p.ID, reckoned.Way, day(bloom.Window.Earliest), day(bloom.Window.Likely), day(bloom.Window.Latest),
		bloom.Basis, bloom.Why, refusal, reckoned.Missed)
	if err != nil {
		return nil, fmt.Errorf("reckoning plan %d: %w", p.ID, err)
	}
	moved, err := syncJobs(ctx, tx, p, reckoned.Steps)
	if err != nil {
		return nil, fmt.Errorf("reckoning plan %d: %w", p.ID, err)
	}
	return moved, followPlan(ctx, tx, p.ID)
}

// word is what a member said last of a job.
type word struct {
	done  calendar.Day
	skip  bool
	later calendar.Day
}

const selectWords = `
SELECT step, deed, day FROM event
WHERE plan = $1 AND step <> '' AND undone_at = 0 AND deed IN ('done', 'bloom', 'skip', 'later') ORDER BY id`

func wordsOf(ctx context.Context, tx *sql.Tx, plan int64) (map[crop.Kind]word, error) {
	words := map[crop.Kind]word{}
	_, err := list(ctx, tx, func(row scanner) (kind crop.Kind, err error) {
		var deed Deed
		var on calendar.Day
		err = row.Scan(&kind, &deed, (*day)(&on))
		w := words[kind]
		switch deed {
		case Skipped:
			w.skip = true
		case PutOff:
			w.later = on
		default:
			w.done = on
		}
		words[kind] = w
		return kind, err
	}, selectWords, plan)
	return words, err
}

const (
	upsertJob = `
INSERT INTO job (plan, kind, coop, member, variety, earliest, likely, latest, due, state, rule, source, last_safe, lost, clock)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
ON CONFLICT (plan, kind) DO UPDATE SET earliest = excluded.earliest, likely = excluded.likely, latest = excluded.latest, due = excluded.due,
       state = excluded.state, rule = excluded.rule, source = excluded.source, last_safe = excluded.last_safe, lost = excluded.lost,
       clock = excluded.clock, seq = job.seq + CASE WHEN job.due <> excluded.due OR job.state <> excluded.state THEN 1 ELSE 0 END`
	dropJob = `UPDATE job SET state = 'dropped', seq = seq + 1 WHERE plan = $1 AND kind = $2 AND state <> 'dropped'`
)

func syncJobs(ctx context.Context, tx *sql.Tx, p Plan, steps []crop.Step) (moved []Move, err error) {
	before, err := list(ctx, tx, scanJob, selectPlanJobs, p.ID)
	if err != nil {
		return nil, err
	}
	old := make(map[crop.Kind]Job, len(before))
	for _, j := range before {
		old[j.Kind] = j
	}
	words, err := wordsOf(ctx, tx, p.ID)
	if err != nil {
		return nil, err
	}
	for _, s := range steps {
		if recurring(s.Kind) { // see Care
			continue
		}
		j := jobOf(p, s, words[s.Kind])
		was, existed := old[s.Kind]
		delete(old, s.Kind)
		if !existed || !was.same(j) {
			if err := storeJob(ctx, tx, j); err != nil {
				return nil, err
			}
		}
		if was.State == JobOpen && j.State == JobOpen && was.Due != j.Due {
			moved = append(moved, Move{p.ID, p.Member, p.Variety, p.Name, j.Kind, was.Due, j.Due})
		}
	}
	for kind, j := range old { // no step of the plan any more
		w := words[kind]
		if w.done.IsZero() && !w.skip || j.State == JobDropped {
			err = exec(ctx, tx, dropJob, p.ID, kind)
		} else {
			err = storeJob(ctx, tx, jobOf(p, j.step(), w))
		}
		if err != nil {
			return nil, err
		}
	}
	return moved, nil
}

func storeJob(ctx context.Context, tx *sql.Tx, j Job) error {
	return exec(ctx, tx, upsertJob, j.Plan, j.Kind, j.Coop, j.Member, j.Variety, day(j.Window.Earliest), day(j.Window.Likely), day(j.Window.Latest),
		day(j.Due), j.State, j.Rule, j.Source, day(j.LastSafe), j.Lost, j.Clock)
}

// jobOf makes the job of a step: what its member said counts first.
func jobOf(p Plan, s crop.Step, w word) Job {
	j := Job{Plan: p.ID, Coop: p.Coop, Member: p.Member, Variety: p.Variety, Kind: s.Kind, Window: s.Window, Due: max(s.Window.Likely, w.later),
		State: JobOpen, Rule: s.Rule, Source: s.Source, LastSafe: s.LastSafe, Lost: s.Lost, Clock: s.Clock}
	switch {
	case !w.done.IsZero():
		j.State, j.Due = JobDone, w.done
	case s.Done:
		j.State, j.Due = JobDone, s.Window.Likely
	case w.skip:
		j.State = JobSkipped
	case p.Ending != Running:
		j.State = JobDropped
	}
	return j
}
