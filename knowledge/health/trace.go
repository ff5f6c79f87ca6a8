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
	records := make(map[int64]Record)
	all, err := r.within(r.Pest.Hidden.BackMax, records, look)
	if err != nil {
		return Traced{}, err
	}
	likely := all
	if r.Pest.Hidden.BackMin < r.Pest.Hidden.BackMax {
		if likely, err = r.within(r.Pest.Hidden.BackMin, records, look); err != nil {
			return Traced{}, err
		}
	}
	suspects := make([]Suspect, 0, len(all.reached))
	for batch := range all.reached {
		if batch == r.Batch {
			continue
		}
		m, side := all.mark(batch)
		_, soon := likely.reached[batch]
		suspects = append(suspects, Suspect{
			Batch: batch, Owner: records[batch].Owner, Side: side, Likely: soon, Day: m.day, Hops: all.labels[m.first].hops,
		})
	}
	slices.SortFunc(suspects, r.byRisk)
	return Traced{suspects, all}, nil
}

// Path gives the ties that lead from the batch reported to a suspect by the fewest hops: first against the direction of
// Raised and Handed, to a source, then along it. None for the batch reported and for one that is no suspect.
func (t Traced) Path(batch int64) []Tie {
	if _, ok := t.walk.reached[batch]; !ok {
		return nil
	}
	m, _ := t.walk.mark(batch)
	return t.walk.path(m.first)
}

func (r Report) byRisk(a, b Suspect) int {
	if a.Likely != b.Likely {
		if a.Likely {
			return -1
		}
		return 1
	}
	far := func(s Suspect) int { return max(r.Seen.Sub(s.Day), s.Day.Sub(r.Seen)) }
	return cmp.Or(cmp.Compare(a.Hops, b.Hops), cmp.Compare(a.Side, b.Side), cmp.Compare(far(a), far(b)),
		cmp.Compare(a.Batch, b.Batch))
}
