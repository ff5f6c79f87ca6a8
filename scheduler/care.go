package scheduler

import (
	"context"
	"slices"

	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// carePart tells the routine care of a day in one line, where the co-op asked for it.
func carePart(ctx context.Context, reg *register.Register, set register.NoticeSetting, s span) (part, error) {
	if !set.Care {
		return part{}, nil
	}
	care, err := reg.CareOfCoop(ctx, set.Coop, s.next.Add(-1))
	if err != nil {
		return part{}, err
	}
	l := line{head: "Routine care"}
	for _, c := range care {
		if !s.cares(c.Care) {
			continue
		}
		for _, b := range c.Batches {
			it := item{member: b.Member, owner: b.Owner, what: c.Kind.Name(false)}
			if !slices.ContainsFunc(l.items, func(o item) bool { return o.member == it.member && o.what == it.what }) {
				l.items = append(l.items, it)
			}
		}
	}
	if len(l.items) == 0 {
		return part{}, nil
	}
	return part{rest: "of routine care", lines: []line{l}}, nil
}

// cares reports whether care falls due in the span. Care that nobody gave lapses at the end of its day, and comes again
// at the distance of its season.
func (s span) cares(c crop.Care) bool {
	for d := s.day; d < s.next; d++ {
		if c.Falls(d) {
			return true
		}
	}
	return false
}
