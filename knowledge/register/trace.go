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
	if member != 0 {
		found = slices.DeleteFunc(found, func(f trace) bool { return f.Owner != member })
	}
	known := map[int64]Batch{}
	if err := meet(ctx, tx, known, found, func(f trace, need func(int64)) { need(f.Batch) }); err != nil {
		return t, err
	}
	live := slices.DeleteFunc(found, func(f trace) bool { b := known[f.Batch]; return !b.Live() })
	t.Gone = len(found) - len(live)
	if err := meet(ctx, tx, known, live, func(f trace, need func(int64)) { f.way(func(batch int64, _ health.Tie) { need(batch) }) }); err != nil {
		return t, err
	}
	for _, f := range live {
		s := Suspect{Suspect: f.Suspect, Plants: known[f.Batch]}
		s.Owner = s.Plants.Member
		f.way(func(batch int64, by health.Tie) { s.Path = append(s.Path, Hop{Plants: known[batch], By: by}) })
		t.Suspects = append(t.Suspects, s)
	}
	return t, nil
}

// meet finds the batches that traces need, all at once, each once.
func meet(ctx context.Context, tx *sql.Tx, known map[int64]Batch, of []trace, needs func(f trace, need func(int64))) error {
	var ids []int64
	for _, f := range of {
		needs(f, func(id int64) {
			if _, ok := known[id]; !ok {
				known[id] = Batch{}
				ids = append(ids, id)
			}
		})
	}
	batches, err := batchesByID(ctx, tx, ids)
	for _, b := range batches {
		known[b.ID] = b
	}
	return err
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

// way gives the batches from one on which the pest was seen to this one, and how each met the one before.
func (f trace) way(step func(batch int64, by health.Tie)) {
	at := f.from
	step(at, health.Tie{})
	for _, tie := range f.all.Path(f.Batch) {
		at = tie.From + tie.To - at
		step(at, tie)
	}
}
