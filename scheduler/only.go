package scheduler

import (
	"context"

	"shortday/knowledge/register"
)

// Only narrows who is told to the group of one co-op and one member of it, by their keys on the platform. The zero Only
// is everybody.
type Only struct{ Coop, Member string }

// find looks them up; false where the co-op has not begun.
func (o Only) find(ctx context.Context, reg *register.Register) (whose register.Whose, known bool, err error) {
	if o == (Only{}) {
		return whose, true, nil
	}
	seat, err := reg.Find(ctx, o.Coop, o.Member)
	return register.Whose{Coop: seat.Coop.ID, Member: seat.Member.ID}, seat.Coop.ID != 0, err
}

// takes reports whether an addressee is among them.
func (o Only) takes(a address) bool {
	return o == (Only{}) || o.Coop == a.coop.Key && (a.member.Key == "" || a.member.Key == o.Member)
}
