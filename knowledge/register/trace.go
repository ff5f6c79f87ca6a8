package register

import (
	"cmp"
	"context"
	"database/sql"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/health"
)

// Suspect is a batch that may share a reported infection, with the way to it.
type Suspect struct {
	health.Suspect
	Plants Batch
	Path   []Hop // from a batch on which it was seen to this one, both included
}

// Hop is one batch of a path, and how it met the one before; the first has no tie.
type Hop struct {
	Plants Batch
	By     health.Tie
}

// Trail is the trace of a report through the register.
type Trail struct {
	Report   Report
	Suspects []Suspect // those with plants, in order of risk
	Gone     int       // batches that would be suspect, had they any plants left
}

// Trace follows a report through lineage, handovers and the places where plants stood together. With a member it gives
// that member's batches alone.
func (r *Register) Trace(ctx context.Context, report, member int64) (t Trail, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		if t.Report, err = reportByID(ctx, tx, report); err == nil {
			t, err = trail(ctx, tx, t.Report, member)
		}
		return err
	})
	return t, err
}

// trail traces a report and finds what the batches traced are.
func trail(ctx context.Context, tx *sql.Tx, rep Report, member int64) (Trail, error) {
	t := Trail{Report: rep}
	found, err := traced(ctx, tx, rep, true)
	if err != nil {
		return t, err
	}
	known := map[int64]Batch{}
	for _, f := range found {
		b, err := known[f.Batch], error(nil)
		if b.ID == 0 {
			if b, err = batchByID(ctx, tx, f.Batch); err != nil {
				return t, err
			}
			known[f.Batch] = b
		}
		switch {
		case member != 0 && b.Member != member:
			continue
		case !b.Live():
			t.Gone++
			continue
		}
		s := Suspect{Suspect: f.Suspect, Plants: b}
		s.Owner = b.Member
		if s.Path, err = path(ctx, tx, f, known); err != nil {
			return t, err
		}
		t.Suspects = append(t.Suspects, s)
	}
	return t, nil
}

// trace is a batch found, by the trace from the batch on which the pest was seen that puts it at most risk.
type trace struct {
	health.Suspect
	from int64
	all  health.Traced
}

// traced traces from every batch on which the pest was seen. Each batch is given once, in order of risk.
func traced(ctx context.Context, tx *sql.Tx, rep Report, beside bool) ([]trace, error) {
	pest, ok := health.PestOf(rep.Pest)
	if !ok {
		return nil, nil
	}
	lines := newLines(ctx, tx, rep, pest.Hidden.Forward, beside)
	best := map[int64]trace{}
	for _, b := range rep.Batches {
		hr := health.Report{Batch: b.ID, Pest: pest, Seen: rep.Seen}
		all, err := health.Trace(hr, lines.look)
		if err != nil {
			return nil, err
		}
		for _, s := range all.Suspects {
			if was, ok := best[s.Batch]; !ok || byRisk(rep.Seen, s, was.Suspect) < 0 {
				best[s.Batch] = trace{s, b.ID, all}
			}
		}
	}
	for _, b := range rep.Batches {
		delete(best, b.ID)
	}
	found := make([]trace, 0, len(best))
	for _, t := range best {
		found = append(found, t)
	}
	slices.SortFunc(found, func(a, b trace) int { return byRisk(rep.Seen, a.Suspect, b.Suspect) })
	return found, nil
}

// byRisk orders as health.Trace does.
func byRisk(seen calendar.Day, a, b health.Suspect) int {
	if a.Likely != b.Likely {
		if a.Likely {
			return -1
		}
		return 1
	}
	far := func(s health.Suspect) int { return max(seen.Sub(s.Day), s.Day.Sub(seen)) }
	return cmp.Or(cmp.Compare(a.Hops, b.Hops), cmp.Compare(a.Side, b.Side), cmp.Compare(far(a), far(b)), cmp.Compare(a.Batch, b.Batch))
}

// path gives the batches on the way to one that was found.
func path(ctx context.Context, tx *sql.Tx, f trace, known map[int64]Batch) (hops []Hop, err error) {
	at := f.from
	ties := append([]health.Tie{{}}, f.all.Path(f.Batch)...)
	for _, tie := range ties {
		if tie.From != 0 {
			at = tie.From + tie.To - at
		}
		b, ok := known[at]
		if !ok {
			if b, err = batchByID(ctx, tx, at); err != nil {
				return nil, err
			}
			known[at] = b
		}
		hops = append(hops, Hop{Plants: b, By: tie})
	}
	return hops, nil
}
