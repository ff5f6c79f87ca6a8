package health

import (
	"cmp"
	"slices"

	"shortday/knowledge/calendar"
)

// Report is a pest seen on a batch.
type Report struct {
	Batch int64
	Pest  Pest
	Seen  calendar.Day
}

// Manner is how plants of two batches met.
type Manner string

// The manners.
const (
	Raised Manner = "raised" // To was raised or split from From
	Handed Manner = "handed" // To was handed over from From
	Beside Manner = "beside" // both stood in the same place; it counts in either direction
)

// Tie is a time on which a pest could pass between two batches.
type Tie struct {
	Manner   Manner
	From, To int64
	First    calendar.Day
	Last     calendar.Day // equal to First unless Beside
}

// Record is what is on record of a batch: whose it is, and all its ties, in whatever order.
type Record struct {
	Owner int64 // member
	Ties  []Tie
}

// Lookup gives the record of a batch. A caller that leaves out the ties of one manner has them not traced.
type Lookup func(batch int64) (Record, error)

// Side tells the two halves of a trace apart.
type Side string

// The sides.
const (
	Source Side = "source" // it may have come from there
	Target Side = "target" // it may have gone there
)

// Suspect is a batch that may carry the pest.
type Suspect struct {
	Batch, Owner int64
	Side         Side
	Likely       bool         // within the time in which the pest shows soonest
	Day          calendar.Day // a source passed it on by this day; a target may have it from this day
	Hops         int
}

// Traced is the outcome of a trace.
type Traced struct {
	Suspects []Suspect // in order of risk
	walk     *walk
}

// Trace finds the batches that may share the infection reported, in order of risk: likely ones first, then by fewest
// hops, sources before targets, then by the day nearest to the report. The batch reported is not among them.
//
// The infection may have come on any day from Seen − BackMax. A batch is a source if from then on there is a way, in
// the order of days, by which the pest could reach the batch reported by the day it was seen. A batch is a target if
// there is such a way to it from a source, or from the batch reported, by Seen + Forward. What parted before the
// infection could have been there is therefore neither. Each hop of lineage or handover is followed once; the cost grows
// with what is reached.
func Trace(r Report, look Lookup) (Traced, error) {
	g := &graph{look: look, index: make(map[int64]int32)}
	all, err := r.within(r.Pest.Hidden.BackMax, g)
	if err != nil {
		return Traced{}, err
	}
	likely := all
	if r.Pest.Hidden.BackMin < r.Pest.Hidden.BackMax {
		if likely, err = r.within(r.Pest.Hidden.BackMin, g); err != nil {
			return Traced{}, err
		}
	}
	var found []ranked
	for i, m := range all.reached {
		if m.ok && g.nodes[i].batch != r.Batch {
			_, soon := likely.reached.has(int32(i))
			found = append(found, r.rank(all, int32(i), soon))
		}
	}
	slices.SortFunc(found, func(a, b ranked) int { return cmp.Or(cmp.Compare(a.risk, b.risk), cmp.Compare(a.batch, b.batch)) })
	suspects := make([]Suspect, len(found))
	for k, f := range found {
		m, side := all.mark(f.node)
		suspects[k] = Suspect{
			Batch: f.batch, Owner: g.nodes[f.node].record.Owner, Side: side, Likely: f.risk>>63 == 0, Day: m.day, Hops: int(all.labels[m.first].hops),
		}
	}
	return Traced{suspects, all}, nil
}

// Path gives the ties that lead from the batch reported to a suspect by the fewest hops: first against the direction of
// Raised and Handed, to a source, then along it. None for the batch reported and for one that is no suspect.
func (t Traced) Path(batch int64) []Tie {
	i, ok := t.walk.index[batch]
	if !ok {
		return nil
	}
	if _, ok := t.walk.reached.has(i); !ok {
		return nil
	}
	m, _ := t.walk.mark(i)
	return t.walk.path(m.first)
}

// ranked is a batch reached with its risk as one number, the highest risk the lowest: likely, hops, side, and how far
// its day is from the report.
type ranked struct {
	risk  uint64
	batch int64
	node  int32
}

func (r Report) rank(w *walk, i int32, likely bool) ranked {
	m, side := w.mark(i)
	far := max(r.Seen.Sub(m.day), m.day.Sub(r.Seen))
	risk := uint64(w.labels[m.first].hops)<<33 | uint64(uint32(far))
	if side == Target {
		risk |= 1 << 32
	}
	if !likely {
		risk |= 1 << 63
	}
	return ranked{risk, w.nodes[i].batch, i}
}
