package register

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

// Step is what a member really did. It names a job by its plan and kind; or, for what was never planned, a variety or
// batches and the kind, and then belongs to the running plan that it serves, if there is one.
type Step struct {
	Plan    int64
	Kind    crop.Kind
	Variety int64
	Batches []int64      // which plants; none: the member's only ones at the stage that the step starts from
	On      calendar.Day // zero: today
	Count   int          // how many plants, cuttings or stools came of it; 0: all of the batch
	Lost    int          // how many of the batch died before
	Spot    string       // where they stand now; "": where they stood
	Note    string
}

// Outcome is what a deed led to.
type Outcome struct {
	Event   Event
	Plan    Plan    // zero where no plan is concerned
	Moved   []Move  // the open jobs that moved
	Batches []Batch // the batches that changed or were made, as they are now
}

// Done records a step that was done. The batches go on to the step's stage, a part of one becomes a batch of its own,
// cuttings from stools become a batch that remembers them; then all that follows is reckoned anew.
// A job that is done already is Taken. A recurring step (crop.Water, Feed, CheckStore) is kept as care.
func (r *Register) Done(ctx context.Context, actor Actor, s Step) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		if s.On.IsZero() {
			s.On = a.today
		}
		if err := a.sensible(s); err != nil {
			return err
		}
		if recurring(s.Kind) {
			return a.care(ctx, s, &out)
		}
		batches, err := a.chosen(ctx, &s)
		if err != nil {
			return err
		}
		if s.Plan, err = a.planFor(ctx, s, batches); err != nil {
			return err
		}
		if err := a.again(ctx, s); err != nil {
			return err
		}
		return a.step(ctx, s, batches, &out)
	})
}

// again refuses a step that was done already for the plan and that no plants tell apart: the plan would not move by it.
func (a *act) again(ctx context.Context, s Step) error {
	if _, moves := crop.StageAfter(s.Kind); moves || s.Plan == 0 || len(s.Batches) > 0 {
		return nil
	}
	j, err := a.job(ctx, s.Plan, s.Kind)
	if err == nil && j.State == JobDone {
		err = doneBefore(j)
	}
	return err
}

func doneBefore(j Job) error {
	return fault.New(fault.Taken, "That was recorded as done on %s. /job undo takes it back; for more of the same, name the batch.", j.Due.Long())
}

func (a *act) sensible(s Step) error {
	switch {
	case s.Kind == "":
		return fault.New(fault.Unclear, "Which step was done? Name one, such as stop or pot.")
	case s.On > a.today:
		return fault.New(fault.Unclear, "%s is still to come. Record a step once it is done, or put the job off.", s.On.Long())
	case s.Count < 0 || s.Lost < 0:
		return fault.New(fault.Unclear, "A count cannot be below zero. Give how many there are.")
	case len(s.Batches) > 1 && (s.Count > 0 || s.Lost > 0):
		return fault.New(fault.Unclear, "A count belongs to one batch. Record each batch by itself.")
	}
	return nil
}

// chosen gives the batches that were named, and settles the variety that the step is of.
func (a *act) chosen(ctx context.Context, s *Step) ([]Batch, error) {
	if s.Plan != 0 {
		p, err := a.running(ctx, s.Plan)
		if err != nil {
			return nil, err
		}
		j, err := a.job(ctx, s.Plan, s.Kind)
		if err != nil {
			return nil, err
		}
		if j.State == JobDone {
			return nil, doneBefore(j)
		}
		s.Variety = p.Variety
	}
	batches := make([]Batch, 0, len(s.Batches))
	for _, id := range s.Batches {
		b, err := a.batch(ctx, id)
		if err != nil {
			return nil, err
		}
		if s.Variety != 0 && b.Variety != s.Variety {
			return nil, fault.New(fault.Unclear, "Batch %s is %s. Name a batch of the variety that the step is of.", b.Mark, b.Name)
		}
		if s.On < b.Made {
			return nil, fault.New(fault.Unclear, "Batch %s exists only since %s. Give that day or a later one.", b.Mark, b.Made.Long())
		}
		s.Variety = b.Variety
		batches = append(batches, b)
	}
	if s.Variety == 0 {
		return nil, fault.New(fault.Unclear, "Of which variety was it done? Name the variety or the batch.")
	}
	_, err := a.variety(ctx, s.Variety)
	return batches, err
}

// batch gives a live batch of the member's own.
func (a *act) batch(ctx context.Context, id int64) (Batch, error) {
	b, err := batchByID(ctx, a.Tx, id)
	if err != nil {
		return b, err
	}
	if err := a.mine(b.Member, "Batch "+b.Mark); err != nil {
		return b, err
	}
	if !b.Live() {
		return b, fault.New(fault.Taken, "Batch %s has no plants left since %s. /stock list names those that have.", b.Mark, b.Ended.Long())
	}
	return b, nil
}

func (a *act) job(ctx context.Context, plan int64, kind crop.Kind) (Job, error) {
	jobs, err := list(ctx, a.Tx, scanJob, selectJob, plan, kind)
	if err != nil || len(jobs) == 0 {
		return Job{}, err // a step that the plan has not
	}
	return jobs[0], nil
}

const openPlanOf = `
SELECT p.id FROM plan p LEFT JOIN job j ON j.plan = p.id AND j.kind = $3 AND j.state = 'open'
WHERE p.member = $1 AND p.variety = $2 AND p.ended = ''
ORDER BY CASE WHEN p.id = $4 THEN 0 WHEN j.due IS NOT NULL THEN 1 ELSE 2 END, COALESCE(j.due, ''), p.bloom_from, p.id LIMIT 1`

// planFor gives the running plan that a step serves, 0 where the member has none: the one named, the one the batch is
// meant for, the one that waits for it, else the next to bloom.
func (a *act) planFor(ctx context.Context, s Step, batches []Batch) (int64, error) {
	if s.Plan != 0 {
		return s.Plan, nil
	}
	var meant int64
	if len(batches) > 0 {
		meant = batches[0].Plan
	}
	ids, err := list(ctx, a.Tx, scanID, openPlanOf, a.own.ID, s.Variety, s.Kind, meant)
	if err != nil || len(ids) == 0 {
		return 0, err
	}
	return ids[0], nil
}

// step records the event, does to the batches what the step does, and settles the plans.
func (a *act) step(ctx context.Context, s Step, batches []Batch, out *Outcome) error {
	stage, moves := crop.StageAfter(s.Kind)
	raises := false
	var err error
	if moves {
		if batches, raises, err = a.plants(ctx, s, batches); err != nil {
			return err
		}
	}
	var before crop.Stage
	if len(batches) > 0 && !raises {
		before = batches[0].Stage
	}
	if before == crop.Taken && s.Kind == crop.Pot { // what is potted had rooted, and counts so
		before = crop.Struck
	}
	e := Event{Variety: s.Variety, Plan: s.Plan, Deed: DidStep, Step: s.Kind, On: s.On, Count: s.Count, Lost: s.Lost, Note: s.Note}
	if e.Count == 0 && !raises && moves {
		for _, b := range batches {
			e.Count += b.Count
		}
		e.Count = max(0, e.Count-s.Lost)
	}
	if out.Event, err = a.record(ctx, e, before); err != nil {
		return err
	}
	if s.Kind == crop.Box && s.Plan != 0 {
		if err := exec(ctx, a.Tx, endPlan, s.Plan, day(s.On), EndBoxed); err != nil {
			return err
		}
	}
	for _, b := range batches {
		if err := a.apply(ctx, out, b, s, stage, moves, raises); err != nil {
			return err
		}
	}
	if moves && len(batches) == 0 && s.Count > 0 {
		if err := a.raise(ctx, out, Batch{}, s, stage); err != nil {
			return err
		}
	}
	return a.settle(ctx, s.Variety, s.Plan, out)
}

func (a *act) apply(ctx context.Context, out *Outcome, b Batch, s Step, stage crop.Stage, moves, raises bool) error {
	switch {
	case !moves: // it only concerns the batch
		return a.touch(ctx, out.Event.ID, b, "", 0, false)
	case raises:
		return a.raise(ctx, out, b, s, stage)
	}
	return a.advance(ctx, out, b, s, stage)
}

// starts gives the stages that a step takes plants on from, and those that cuttings for it come from. before are the
// stages in front of either, the nearest first: where there are no others, a step between was done and not recorded.
func starts(k crop.Kind) (from, cutFrom, before []crop.Stage) {
	stools := []crop.Stage{crop.Woken, crop.Potted, crop.Planted, crop.Housed}
	switch k {
	case crop.Wake:
		return []crop.Stage{crop.Boxed}, nil, nil
	case crop.Cut:
		return nil, stools, []crop.Stage{crop.Boxed}
	case crop.Strike:
		return []crop.Stage{crop.Taken}, stools, []crop.Stage{crop.Boxed}
	case crop.Pot:
		return []crop.Stage{crop.Struck}, nil, []crop.Stage{crop.Taken}
	case crop.PlantOut, crop.FinalPot:
		return []crop.Stage{crop.Potted}, nil, []crop.Stage{crop.Struck, crop.Taken}
	case crop.House:
		return []crop.Stage{crop.Planted}, nil, []crop.Stage{crop.Potted}
	case crop.Box:
		return []crop.Stage{crop.Planted, crop.Housed}, nil, []crop.Stage{crop.Potted}
	}
	return nil, nil, nil
}

// plants gives the batches that a step takes on, or, where it raises new plants, the batch that the cuttings are from.
func (a *act) plants(ctx context.Context, s Step, named []Batch) (batches []Batch, raises bool, err error) {
	from, cutFrom, before := starts(s.Kind)
	if len(named) > 0 {
		raises = slices.Contains(cutFrom, named[0].Stage) || len(cutFrom) > 0 && slices.Contains(before, named[0].Stage)
		if raises && s.Count == 0 && s.Kind == crop.Strike {
			return nil, false, fault.New(fault.Unclear, "How many cuttings of batch %s were struck? Give the count.", named[0].Mark)
		}
		return named, raises, nil
	}
	live, err := liveBatches(ctx, a.Tx, a.own.ID, s.Variety)
	if err != nil {
		return nil, false, err
	}
	if batches = at(live, from, s); len(batches) == 0 && s.Count > 0 {
		batches, raises = at(live, cutFrom, s), len(cutFrom) > 0
	}
	for _, stage := range before {
		if len(batches) == 0 && (s.Count > 0 || len(cutFrom) == 0) {
			batches = at(live, []crop.Stage{stage}, s)
		}
	}
	if woken := at(batches, []crop.Stage{crop.Woken}, s); raises && len(woken) > 0 {
		batches = woken
	}
	if len(batches) > 1 {
		return nil, false, fault.New(fault.Unclear, "Which plants? %s could be meant: name the batch, or each by itself.", marks(batches))
	}
	return batches, raises, nil
}

// at gives the batches at one of the stages; those meant for the plan alone, where there are any.
func at(batches []Batch, stages []crop.Stage, s Step) (found []Batch) {
	meant := false
	for _, b := range batches {
		if !slices.Contains(stages, b.Stage) {
			continue
		}
		if mine := b.Plan != 0 && b.Plan == s.Plan; mine && !meant {
			found, meant = nil, true
		} else if meant && !mine {
			continue
		}
		found = append(found, b)
	}
	return found
}

func marks(batches []Batch) string {
	words := make([]string, len(batches))
	for i, b := range batches {
		words[i] = fmt.Sprintf("%s (%d %s)", b.Mark, b.Count, b.Stage)
	}
	return strings.Join(words, ", ")
}
