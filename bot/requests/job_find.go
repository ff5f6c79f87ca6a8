package requests

import (
	"context"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// found is what a field named: a job of a plan, or with no plan recurring care, of one variety or of all that need it.
type found struct {
	kind    crop.Kind
	plan    register.Plan
	variety int64
}

// jobName is how a job is named in a field: "stop Saltmarsh", with the day where that is one of the plan's targets.
func jobName(kind crop.Kind, p register.Plan) string {
	if p.Keeps() {
		return kind.Name(false) + " " + p.Name
	}
	return kind.Name(false) + " " + targetName(p)
}

// kindNames gives all that a step is called, folded.
func kindNames(k crop.Kind) []string {
	names := []string{k.Name(false), k.Name(true), string(k), k.Phrase(false), k.Phrase(true)}
	for i := range names {
		names[i] = variety.Fold(names[i])
	}
	return names
}

// job gives the job of a member that a field names: the step with the variety, and with the day of the target where
// one variety has several; the step alone where there is only one such job. Quotes around a part of it change nothing.
func (c counter) job(ctx context.Context, in *bot.In, own register.Member, field string) found {
	text := strings.Join(strings.Fields(strings.ReplaceAll(in.Text(field), `"`, " ")), " ") // wake "Bronze Fleet"
	if text == "" || in.Err() != nil {
		return found{}
	}
	jobs, err := c.jobsMeant(ctx, own, in.Today(), variety.Fold(text))
	switch {
	case err != nil:
		in.Fail(err)
	case len(jobs) == 1:
		return jobs[0]
	case len(jobs) == 0:
		near, err := c.nearJobs(ctx, own, in.Today(), variety.Fold(text))
		if err != nil {
			in.Fail(err)
			return found{}
		}
		in.Fail(fault.New(fault.Missing, "There is no job %q. %s/job due lists those that are; what was never planned is recorded with step: and variety:.", text, near))
	default:
		names := make([]string, len(jobs))
		for i, j := range jobs {
			names[i] = j.kind.Name(false)
			if j.plan.ID != 0 {
				names[i] = jobName(j.kind, j.plan)
			}
		}
		in.Fail(fault.New(fault.Unclear, "Which one? %q can be %s.", text, some(names, 8)))
	}
	return found{}
}

// jobsNamed gives the jobs that a folded text names: open ones, else care, else those that are no longer open, for
// the register to say why.
func (c counter) jobsNamed(ctx context.Context, own register.Member, today calendar.Day, text string) ([]found, error) {
	plans, err := c.reg.Plans(ctx, own.ID, 0)
	if err != nil {
		return nil, err
	}
	byID := make(map[int64]register.Plan, len(plans))
	for _, p := range plans {
		byID[p.ID] = p
	}
	open, err := c.reg.Due(ctx, own.ID, calendar.DayOf(9999, 12, 31))
	if err != nil {
		return nil, err
	}
	if jobs := named(open, byID, text); len(jobs) > 0 {
		return jobs, nil
	}
	if jobs, err := c.careNamed(ctx, own, today, text); err != nil || len(jobs) > 0 {
		return jobs, err
	}
	var all []register.Job
	for _, p := range plans {
		jobs, err := c.reg.JobsOf(ctx, p.ID)
		if err != nil {
			return nil, err
		}
		all = append(all, jobs...)
	}
	return named(all, byID, text), nil
}

func named(jobs []register.Job, plans map[int64]register.Plan, text string) []found {
	var all []found
	for _, j := range jobs {
		p := plans[j.Plan]
		for _, name := range kindNames(j.Kind) {
			if text == name || text == name+" "+variety.Fold(p.Name) || text == name+" "+variety.Fold(targetName(p)) {
				all = append(all, found{kind: j.Kind, plan: p, variety: p.Variety})
				break
			}
		}
	}
	return all
}

// careNamed gives the recurring care that a text names, of all plants or of one variety's.
func (c counter) careNamed(ctx context.Context, own register.Member, today calendar.Day, text string) ([]found, error) {
	due, err := c.reg.Care(ctx, own.ID, today, calendar.DayOf(9999, 12, 31))
	if err != nil {
		return nil, err
	}
	for _, care := range due {
		for _, name := range kindNames(care.Kind) {
			if text == name {
				return []found{{kind: care.Kind}}, nil
			}
			rest, ok := strings.CutPrefix(text, name+" ")
			if !ok {
				continue
			}
			for _, b := range care.Batches {
				if rest == variety.Fold(b.Name) {
					return []found{{kind: care.Kind, variety: b.Variety}}, nil
				}
			}
		}
	}
	return nil, nil
}

// completeJobs offers the asker's next open jobs.
func (c counter) completeJobs(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	seat, err := c.reg.Find(ctx, in.Coop.Key, in.Who.Key)
	if err != nil || seat.Zero() {
		return nil, err
	}
	open, err := c.reg.Due(ctx, seat.Member.ID, in.Today().Add(365))
	if err != nil {
		return nil, err
	}
	plans, err := c.reg.Plans(ctx, seat.Member.ID, 0)
	if err != nil {
		return nil, err
	}
	byID := make(map[int64]register.Plan, len(plans))
	for _, p := range plans {
		byID[p.ID] = p
	}
	var choices []bot.Choice
	for _, j := range open {
		choices = append(choices, bot.Choice{Label: j.Kind.Name(pinch(seat)) + " " + j.Name + ", " + j.Due.Long(), Value: jobName(j.Kind, byID[j.Plan])})
	}
	return bot.Matching(choices, typed), nil
}
