package register

import (
	"context"
	"database/sql"
)

// Tell writes a tiding in a deed of its own.
func (r *Register) Tell(ctx context.Context, actor Actor, member int64, kind TidingKind, subject int64, then error) error {
	return r.act(ctx, actor, func(a *act) error {
		if err := a.tell(ctx, member, kind, subject); err != nil {
			return err
		}
		return then
	})
}

// Passable tells in a deed of its own whether a batch may be offered, proposed and handed over.
func (r *Register) Passable(ctx context.Context, actor Actor, b Batch) error {
	return r.act(ctx, actor, func(a *act) error { return a.passable(ctx, b) })
}

// SelectOpenCoop is the query of OpenOfCoop.
const SelectOpenCoop = selectOpenCoop

// Traced counts what a trace by lineage and handovers finds.
func (r *Register) Traced(ctx context.Context, rep Report) (n int, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		found, err := traced(ctx, tx, rep, false)
		n = len(found)
		return err
	})
	return n, err
}
