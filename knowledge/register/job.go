package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

// Job is one step of one member's plan on a day. It is named by its plan and kind.
type Job struct {
	Plan     int64
	Kind     crop.Kind
	Coop     int64
	Member   int64
	Owner    string
	Variety  int64
	Name     string // of the variety
	Window   calendar.Window
	Due      calendar.Day // the likely day, or a later one that its member chose; the day done
	State    JobState
	Rule     string
	Source   string
	LastSafe calendar.Day // zero where there is none
	Lost     string
	Clock    string
	Seq      int // counts the changes of Due and State
}

// JobState is what became of a job.
type JobState string

// The states. Only an open job moves.
const (
	JobOpen    JobState = "open"
	JobDone    JobState = "done"
	JobSkipped JobState = "skipped"
	JobDropped JobState = "dropped" // its plan ended, or no longer has the step
)

// same reports whether storing other would change nothing.
func (j Job) same(other Job) bool {
	other.Owner, other.Name, other.Seq = j.Owner, j.Name, j.Seq
	return j == other
}

func (j Job) step() crop.Step {
	return crop.Step{Kind: j.Kind, Window: j.Window, Rule: j.Rule, Source: j.Source, LastSafe: j.LastSafe, Lost: j.Lost, Clock: j.Clock}
}

const selectJobs = `
SELECT j.plan, j.kind, j.coop, j.member, m.name, j.variety, v.name, j.earliest, j.likely, j.latest, j.due, j.state, j.rule, j.source,
       j.last_safe, j.lost, j.clock, j.seq
FROM job j JOIN variety v ON v.id = j.variety JOIN member m ON m.id = j.member
`

func scanJob(row scanner) (j Job, err error) {
	err = row.Scan(&j.Plan, &j.Kind, &j.Coop, &j.Member, &j.Owner, &j.Variety, &j.Name, (*day)(&j.Window.Earliest), (*day)(&j.Window.Likely),
		(*day)(&j.Window.Latest), (*day)(&j.Due), &j.State, &j.Rule, &j.Source, (*day)(&j.LastSafe), &j.Lost, &j.Clock, &j.Seq)
	return j, err
}

const (
	selectJob        = selectJobs + `WHERE j.plan = $1 AND j.kind = $2`
	selectPlanJobs   = selectJobs + `WHERE j.plan = $1 ORDER BY j.due, j.kind`
	selectMemberJobs = selectJobs + `WHERE j.member = $1 AND j.state = 'open' AND j.due >= $2 AND j.due <= $3 ORDER BY j.due, v.folded, j.kind, j.plan LIMIT $4 + 0` // a limit that is a bare parameter has SQLite prepare the query anew each time
	selectCoopJobs   = selectJobs + `WHERE j.coop = $1 AND j.state = 'open' AND j.due >= $2 AND j.due <= $3 ORDER BY j.due, j.kind, m.folded, v.folded, j.plan`
	selectAllJobs    = selectJobs + `WHERE j.member = $1 AND j.plan IN (SELECT id FROM plan WHERE member = $1) ORDER BY j.plan, j.due, j.kind`
)

// noLimit asks for every row.
const noLimit = 1 << 31

// JobsOf gives all jobs of a plan, whatever their state, by day.
func (r *Register) JobsOf(ctx context.Context, plan int64) (all []Job, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanJob, selectPlanJobs, plan); return err })
	return all, err
}

// Job gives one job.
func (r *Register) Job(ctx context.Context, plan int64, kind crop.Kind) (j Job, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		j, err = one(noJob(kind), tx.QueryRowContext(ctx, selectJob, plan, kind), scanJob)
		return err
	})
	return j, err
}

func noJob(kind crop.Kind) *fault.Error {
	return fault.New(fault.Missing, "That plan has no job %q. /plan show has its steps.", string(kind))
}

// Due gives a member's open jobs due up to a day, overdue ones too, by day.
func (r *Register) Due(ctx context.Context, member int64, until calendar.Day) ([]Job, error) {
	return r.memberJobs(ctx, member, 0, until, noLimit)
}

// Upcoming gives a member's next open jobs from a day on.
func (r *Register) Upcoming(ctx context.Context, member int64, from calendar.Day, limit int) ([]Job, error) {
	return r.memberJobs(ctx, member, from, calendar.DayOf(9999, 12, 31), limit)
}

func (r *Register) memberJobs(ctx context.Context, member int64, from, until calendar.Day, limit int) (all []Job, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanJob, selectMemberJobs, member, day(from), day(until), limit)
		return err
	})
	return all, err
}

// CoopJobs gives a co-op's open jobs due between two days, both included, by day, kind and member.
func (r *Register) CoopJobs(ctx context.Context, coop int64, from, until calendar.Day) (all []Job, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanJob, selectCoopJobs, coop, day(from), day(until))
		return err
	})
	return all, err
}

// openJob gives a job of the member's that is still open.
func (a *act) openJob(ctx context.Context, plan int64, kind crop.Kind) (Job, error) {
	if _, err := a.running(ctx, plan); err != nil {
		return Job{}, err
	}
	j, err := one(noJob(kind), a.QueryRowContext(ctx, selectJob, plan, kind), scanJob)
	if err != nil {
		return j, err
	}
	switch j.State {
	case JobDone:
		return j, fault.New(fault.Taken, "That was recorded as done on %s. /job undo takes it back.", j.Due.Long())
	case JobSkipped:
		return j, fault.New(fault.Taken, "That job was skipped. /job undo brings it back.")
	case JobDropped:
		return j, fault.New(fault.Taken, "That job is no longer part of the plan. /plan show has its steps.")
	}
	return j, nil
}

// Later puts an open job off to a day after both today and the day it is due.
func (r *Register) Later(ctx context.Context, actor Actor, plan int64, kind crop.Kind, to calendar.Day) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		j, err := a.openJob(ctx, plan, kind)
		if err != nil {
			return err
		}
		if to <= a.today || to <= j.Due {
			return fault.New(fault.Unclear, "That job is due on %s, so it can be put off only to a day after %s. Name a later day.", j.Due.Long(), max(j.Due, a.today).Long())
		}
		if out.Event, err = a.record(ctx, Event{Variety: j.Variety, Plan: plan, Deed: PutOff, Step: kind, On: to}, ""); err != nil {
			return err
		}
		return a.settle(ctx, j.Variety, plan, &out)
	})
}

// Skip leaves an open job out, with a reason or none.
func (r *Register) Skip(ctx context.Context, actor Actor, plan int64, kind crop.Kind, reason string) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		j, err := a.openJob(ctx, plan, kind)
		if err != nil {
			return err
		}
		if out.Event, err = a.record(ctx, Event{Variety: j.Variety, Plan: plan, Deed: Skipped, Step: kind, On: a.today, Note: reason}, ""); err != nil {
			return err
		}
		return a.settle(ctx, j.Variety, plan, &out)
	})
}
