package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

// Bloom is a bloom that was seen or picked: what later dates learn from. At least one day is given.
type Bloom struct {
	Variety int64
	Plan    int64 // 0: the batch's, else the member's running or last plan of the variety whose year had begun
	Batch   int64
	First   calendar.Day
	Full    calendar.Day
	Picked  calendar.Day // counts as the step crop.Pick too
	Stems   int          // picked
	Note    string
}

const (
	insertBloom = `INSERT INTO bloom (event, opened, full, picked, stems, way, lat) VALUES ($1, $2, $3, $4, $5, $6, $7)`
	lastPlanOf  = `
SELECT id FROM plan WHERE member = $1 AND variety = $2 AND since <= $3 AND ending <> 'dropped' AND ending <> 'replaced'
ORDER BY CASE WHEN ended = '' THEN 0 ELSE 1 END, bloom_from = '', bloom_from, ended DESC LIMIT 1`
	selectOthersPlans = selectPlans + `WHERE p.variety = $1 AND p.member <> $2 AND p.ended = '' ORDER BY p.id`
	// Of a batch the most stems that were seen count once; a bloom that names none may be of any.
	selectSeen = `
SELECT COALESCE(min(t.batch), 0), sum(CASE WHEN b.picked <> '' THEN b.stems ELSE 0 END), max(CASE WHEN b.picked = '' THEN b.stems ELSE 0 END),
       min(CASE WHEN b.opened <> '' THEN b.opened WHEN b.full <> '' THEN b.full ELSE b.picked END)
FROM event e JOIN bloom b ON b.event = e.id LEFT JOIN touch t ON t.event = e.id
WHERE e.plan = $1 AND e.undone_at = 0 GROUP BY t.batch`
)

// SawBloom records a bloom, and moves the open jobs of all in the co-op whose plans learn from it.
func (r *Register) SawBloom(ctx context.Context, actor Actor, b Bloom) (out Outcome, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		on := max(b.First, b.Full, b.Picked)
		switch {
		case on.IsZero():
			return fault.New(fault.Unclear, "When did it bloom? Give the day of the first bloom, of full bloom, or of picking.")
		case on > a.today:
			return fault.New(fault.Unclear, "%s is still to come. Record a bloom once it is there.", on.Long())
		case b.Stems < 0:
			return fault.New(fault.Unclear, "Stems cannot be fewer than none. Give how many were picked.")
		case !b.Full.IsZero() && b.First > b.Full:
			return fault.New(fault.Unclear, "The first bloom cannot come after full bloom. Look at the two days again.")
		}
		s := Step{Variety: b.Variety, Kind: crop.Pick, On: on}
		if b.Batch != 0 {
			s.Batches = []int64{b.Batch}
		}
		batches, err := a.chosen(ctx, &s)
		if err != nil {
			return err
		}
		if b.Variety = s.Variety; b.Plan == 0 && len(batches) > 0 {
			b.Plan = batches[0].Plan
		}
		if err := a.bloomPlan(ctx, &b); err != nil {
			return err
		}
		return a.keepBloom(ctx, b, on, batches, &out)
	})
}

func (a *act) bloomPlan(ctx context.Context, b *Bloom) error {
	if b.Plan == 0 {
		last, err := list(ctx, a.Tx, scanID, lastPlanOf, a.own.ID, b.Variety, day(max(b.First, b.Full, b.Picked)))
		if err != nil || len(last) == 0 {
			return err
		}
		b.Plan = last[0]
		return nil
	}
	p, err := planByID(ctx, a.Tx, b.Plan)
	if err != nil {
		return err
	}
	if p.Variety != b.Variety {
		return fault.New(fault.Unclear, "That target is for %s. Name one for the same variety.", p.Name)
	}
	return a.mine(p.Member, "That target")
}

func (a *act) keepBloom(ctx context.Context, b Bloom, on calendar.Day, batches []Batch, out *Outcome) error {
	seat, err := seatOf(ctx, a.Tx, a.own.ID)
	if err != nil {
		return err
	}
	way := crop.Natural
	if b.Plan != 0 {
		p, err := planByID(ctx, a.Tx, b.Plan)
		if err != nil {
			return err
		}
		if p.Way != crop.AnyWay {
			way = p.Way
		}
	}
	e := Event{Variety: b.Variety, Plan: b.Plan, Deed: SawBloom, On: on, Count: b.Stems, Note: b.Note}
	if !b.Picked.IsZero() {
		e.Step = crop.Pick
	}
	if out.Event, err = a.record(ctx, e, ""); err != nil {
		return err
	}
	for _, batch := range batches {
		if err := a.touch(ctx, out.Event.ID, batch, "", 0, false); err != nil {
			return err
		}
	}
	err = exec(ctx, a.Tx, insertBloom, out.Event.ID, day(b.First), day(b.Full), day(b.Picked), b.Stems, way, seat.Place().Lat)
	if err != nil {
		return fmt.Errorf("recording a bloom: %w", err)
	}
	return a.settleBloom(ctx, out.Event, out)
}

// Flush is what was seen of the bloom of a plan.
type Flush struct {
	Since calendar.Day // the first day on which any of it was in bloom or was picked; zero: nothing was recorded
	Stems int          // picked; in bloom, as long as none were picked
}

// Flush gives what was recorded of a plan's bloom. What is picked was counted in bloom before: it never counts twice.
func (r *Register) Flush(ctx context.Context, plan int64) (f Flush, err error) {
	picked, seen, some := 0, 0, 0
	err = r.read(ctx, func(tx *sql.Tx) error {
		return each(ctx, tx, func(row scanner) error {
			var batch int64
			var cut, stood int
			var since calendar.Day
			err := row.Scan(&batch, &cut, &stood, (*day)(&since))
			picked += cut
			if batch == 0 {
				some = stood
			} else {
				seen += stood
			}
			if f.Since.IsZero() || since < f.Since {
				f.Since = since
			}
			return err
		}, selectSeen, plan)
	})
	if f.Stems = picked; picked == 0 {
		f.Stems = max(seen, some)
	}
	return f, err
}

// opening is the time from the first bloom to full bloom, in days; common practice.
const opening = 7

// fullBloom gives the day of full bloom by what was seen of it.
func fullBloom(first, full, picked calendar.Day) calendar.Day {
	switch {
	case !full.IsZero():
		return full
	case !first.IsZero():
		return first.Add(opening)
	}
	return picked
}
