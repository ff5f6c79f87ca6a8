package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

// Plan is what a member does with a variety in one year: for a target, or without one to keep the variety.
type Plan struct {
	ID      int64
	Coop    int64
	Member  int64
	Owner   string
	Variety int64
	Name    string       // of the variety
	Since   calendar.Day // of what was done before, only the boxing on this very day counts
	Wanted  crop.Target  // zero: the keep-plan
	Stems   int
	Ended   calendar.Day // zero while it runs
	Ending  Ending
	// What was reckoned last; Reckon gives all of it.
	Way     crop.Way
	Bloom   calendar.Window
	Basis   crop.Basis
	Why     string
	Refusal string       // why the target cannot be met
	Missed  string       // why it can no longer be reached
	Bloomed calendar.Day // the bloom or the first picking that was recorded
}

// Keeps reports whether the plan only keeps the variety.
func (p Plan) Keeps() bool { return p.Wanted.From.IsZero() }

// Ending is why a plan ended.
type Ending string

// The endings.
const (
	Running    Ending = ""
	EndBoxed   Ending = "boxed"    // its year is over
	EndDropped Ending = "dropped"  // by its member
	EndOther   Ending = "replaced" // a keep-plan that a target took over, or that has no plants left
)

const selectPlans = `
SELECT p.id, p.coop, p.member, m.name, p.variety, v.name, p.since, p.bloom_from, p.bloom_to, p.wanted_way, p.stems, p.ended, p.ending,
       p.way, p.earliest, p.likely, p.latest, p.basis, p.why, p.refusal, p.missed, p.bloomed
FROM plan p JOIN variety v ON v.id = p.variety JOIN member m ON m.id = p.member
`

func scanPlan(row scanner) (p Plan, err error) {
	err = row.Scan(&p.ID, &p.Coop, &p.Member, &p.Owner, &p.Variety, &p.Name, (*day)(&p.Since), (*day)(&p.Wanted.From), (*day)(&p.Wanted.To), &p.Wanted.Way,
		&p.Stems, (*day)(&p.Ended), &p.Ending, &p.Way, (*day)(&p.Bloom.Earliest), (*day)(&p.Bloom.Likely), (*day)(&p.Bloom.Latest),
		&p.Basis, &p.Why, &p.Refusal, &p.Missed, (*day)(&p.Bloomed))
	return p, err
}

const (
	selectPlan               = selectPlans + `WHERE p.id = $1`
	selectMemberPlans        = selectPlans + `WHERE p.member = $1 AND p.ended = '' ORDER BY p.bloom_from, v.folded, p.id`
	selectMemberVarietyPlans = selectPlans + `WHERE p.member = $1 AND p.variety = $2 AND p.ended = '' ORDER BY p.bloom_from, p.id`
	selectVarietyPlans       = selectPlans + `WHERE p.variety = $1 AND p.ended = '' ORDER BY p.id`
	selectCoopPlans          = selectPlans + `WHERE p.member IN (SELECT id FROM member WHERE coop = $1) AND p.ended = '' ORDER BY p.id`
	selectAllPlans           = selectPlans + `WHERE p.member = $1 ORDER BY p.id`
	selectTargets            = selectPlans + `WHERE p.member = $1 AND p.bloom_from >= $2 AND p.bloom_from <> '' AND p.ending <> 'dropped' ORDER BY p.bloom_from, p.id`
)

func planByID(ctx context.Context, tx *sql.Tx, id int64) (Plan, error) {
	return one(fault.New(fault.Missing, "That plan is not in the register. /target list shows yours."), tx.QueryRowContext(ctx, selectPlan, id), scanPlan)
}

// Plan gives a plan.
func (r *Register) Plan(ctx context.Context, id int64) (p Plan, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { p, err = planByID(ctx, tx, id); return err })
	return p, err
}

// Plans gives a member's running plans, keep-plans first, then targets by bloom; of one variety where that is not 0.
func (r *Register) Plans(ctx context.Context, member, variety int64) (all []Plan, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		if variety == 0 {
			all, err = list(ctx, tx, scanPlan, selectMemberPlans, member)
		} else {
			all, err = list(ctx, tx, scanPlan, selectMemberVarietyPlans, member, variety)
		}
		return err
	})
	return all, err
}

// Targets gives a member's targets with a bloom from a day on, the ended ones too but those dropped.
func (r *Register) Targets(ctx context.Context, member int64, from calendar.Day) (all []Plan, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanPlan, selectTargets, member, day(from))
		return err
	})
	return all, err
}

const (
	insertPlan = `
INSERT INTO plan (coop, member, variety, since, bloom_from, bloom_to, stems, wanted_way, made_at)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) RETURNING id`
	endPlan = `UPDATE plan SET ended = $2, ending = $3 WHERE id = $1`
	lastBox = `
SELECT COALESCE(max(day), '') FROM event
WHERE member = $1 AND variety = $2 AND step = 'box' AND deed = 'done' AND undone_at = 0`
)

// season is the most that one year of a plant reaches back from its bloom, in days.
const season = 350

// since gives the day on which the year of a plant begins that is to bloom as wanted: when the variety was boxed last,
// and never so early that an earlier year whose box nobody recorded would be taken for it.
func since(ctx context.Context, tx *sql.Tx, member, variety int64, wanted crop.Target, today calendar.Day) (from calendar.Day, err error) {
	if err = tx.QueryRowContext(ctx, lastBox, member, variety).Scan((*day)(&from)); err != nil {
		return 0, err
	}
	return max(from, max(today, wanted.From).Add(-season)), nil
}

func (a *act) newPlan(ctx context.Context, variety int64, wanted crop.Target, stems int) (int64, error) {
	from, err := since(ctx, a.Tx, a.own.ID, variety, wanted, a.today)
	if err != nil {
		return 0, err
	}
	id, err := scanID(a.QueryRowContext(ctx, insertPlan, a.own.Coop, a.own.ID, variety, day(from), day(wanted.From), day(wanted.To), stems, wanted.Way, a.at.Unix()))
	if err != nil {
		return 0, fmt.Errorf("making a plan: %w", err)
	}
	return id, nil
}

// SetTarget aims at a bloom, and with that at the jobs that lead to it. A target that cannot be met is kept with its
// Refusal: ask crop with Case first to say so before anything is kept.
func (r *Register) SetTarget(ctx context.Context, actor Actor, variety int64, wanted crop.Target, stems int) (out Outcome, err error) {
	wanted.To = max(wanted.To, wanted.From)
	return out, r.act(ctx, actor, func(a *act) error {
		v, err := a.variety(ctx, variety)
		if err != nil {
			return err
		}
		if wanted.From <= a.today {
			return fault.New(fault.Unclear, "%s is not ahead. Give a bloom day after today.", wanted.From.Long())
		}
		open, err := list(ctx, a.Tx, scanPlan, selectMemberVarietyPlans, a.own.ID, variety)
		if err != nil {
			return err
		}
		for _, p := range open {
			if p.Wanted.From == wanted.From {
				return fault.New(fault.Taken, "There is a target for %s on %s already. Drop it first, or name another day.", v.Name, wanted.From.Long())
			}
		}
		id, err := a.newPlan(ctx, variety, wanted, stems)
		if err != nil {
			return err
		}
		out.Event, err = a.record(ctx, Event{Variety: variety, Plan: id, Deed: Aimed, On: a.today, Count: stems}, "")
		if err != nil {
			return err
		}
		return a.settle(ctx, variety, id, &out)
	})
}

// DropTarget gives a target up: its open jobs are dropped, and the variety is kept without it.
func (r *Register) DropTarget(ctx context.Context, actor Actor, plan int64, note string) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		p, err := a.running(ctx, plan)
		if err != nil {
			return err
		}
		if p.Keeps() {
			return fault.New(fault.Unclear, "%s has no target to drop: it is only kept. /stock count takes out what died.", p.Name)
		}
		if out.Event, err = a.record(ctx, Event{Variety: p.Variety, Plan: p.ID, Deed: Dropped, On: a.today, Note: note}, ""); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, endPlan, p.ID, day(a.today), EndDropped); err != nil {
			return err
		}
		return a.settle(ctx, p.Variety, p.ID, &out)
	})
}

// running gives the member's own plan and refuses one that has ended.
func (a *act) running(ctx context.Context, id int64) (Plan, error) {
	p, err := planByID(ctx, a.Tx, id)
	if err != nil {
		return p, err
	}
	if err := a.mine(p.Member, "That plan"); err != nil {
		return p, err
	}
	if p.Ending != Running {
		return p, fault.New(fault.Taken, "That plan for %s ended on %s (%s). /plan show has the one that runs.", p.Name, p.Ended.Long(), p.Ending)
	}
	return p, nil
}

// settle brings a member's plans of a variety in line after a deed: a keep-plan while there are plants and no target,
// and the jobs of every plan that runs or was touched. plan is the one the deed was about, or 0.
func (a *act) settle(ctx context.Context, variety, plan int64, out *Outcome) error {
	if err := a.keep(ctx, variety); err != nil {
		return err
	}
	plans, err := list(ctx, a.Tx, scanPlan, selectMemberVarietyPlans, a.own.ID, variety)
	if err != nil {
		return err
	}
	if plan != 0 {
		p, err := planByID(ctx, a.Tx, plan)
		if err != nil {
			return err
		}
		if p.Ending != Running {
			plans = append(plans, p)
		}
	}
	for _, p := range plans {
		moved, err := reckon(ctx, a.Tx, p, a.today)
		if err != nil {
			return err
		}
		out.Moved = append(out.Moved, moved...)
	}
	if plan != 0 {
		out.Plan, err = planByID(ctx, a.Tx, plan)
	}
	return err
}

const (
	countLive    = `SELECT count(*) FROM batch WHERE member = $1 AND variety = $2 AND ended = ''`
	countTargets = `SELECT count(*) FROM plan WHERE member = $1 AND variety = $2 AND ended = '' AND bloom_from <> ''`
	selectKeep   = `SELECT id FROM plan WHERE member = $1 AND variety = $2 AND ended = '' AND bloom_from = ''`
)

func (a *act) keep(ctx context.Context, variety int64) error {
	live, err := scanID(a.QueryRowContext(ctx, countLive, a.own.ID, variety))
	if err != nil {
		return err
	}
	targets, err := scanID(a.QueryRowContext(ctx, countTargets, a.own.ID, variety))
	if err != nil {
		return err
	}
	keep, err := scanID(a.QueryRowContext(ctx, selectKeep, a.own.ID, variety))
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	wanted := live > 0 && targets == 0
	switch {
	case wanted && keep == 0:
		_, err = a.newPlan(ctx, variety, crop.Target{}, 0)
		return err
	case !wanted && keep != 0:
		return a.closeKeep(ctx, keep)
	}
	return nil
}

func (a *act) closeKeep(ctx context.Context, keep int64) error {
	if err := exec(ctx, a.Tx, endPlan, keep, day(a.today), EndOther); err != nil {
		return err
	}
	return exec(ctx, a.Tx, dropJobs, keep)
}
