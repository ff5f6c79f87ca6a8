package register

import (
	"context"
	"database/sql"
	"fmt"
)

// view is one state of the register that several reads see. Its transaction begins with the first of them.
type view struct {
	reg *Register
	ctx context.Context // that of Look: a read with a shorter one does not end the view
	tx  *sql.Tx

	seats map[[2]string]Seat // found in it, by the keys of co-op and member: the same one is asked for again
}

type viewKey struct{}

// viewOf gives the view of this register that a context belongs to; nil where there is none.
func (r *Register) viewOf(ctx context.Context) *view {
	if v, ok := ctx.Value(viewKey{}).(*view); ok && v.reg == r {
		return v
	}
	return nil
}

// Look lets all that is read with the context that it hands on see one state of the register, which costs less than to
// begin anew each time. What is written ends that state, and what is read after it sees the next. Within another Look it
// joins that one. One goroutine at a time may use the context.
func (r *Register) Look(ctx context.Context, do func(context.Context) error) error {
	if r.viewOf(ctx) != nil {
		return do(ctx)
	}
	v := &view{reg: r, ctx: ctx}
	defer v.end()
	return do(context.WithValue(ctx, viewKey{}, v))
}

// Rest ends the state that Look shows before something that takes long, so that it keeps nothing from others; what is read
// after it sees the next.
func (r *Register) Rest(ctx context.Context) {
	if v := r.viewOf(ctx); v != nil {
		v.end()
	}
}

func (v *view) read(look func(*sql.Tx) error) error {
	if v.tx == nil {
		tx, err := v.reg.reader.BeginTx(v.ctx, &sql.TxOptions{ReadOnly: true})
		if err != nil {
			return fmt.Errorf("beginning: %w", err)
		}
		v.tx, v.seats = tx, map[[2]string]Seat{}
	}
	return look(v.tx)
}

// end ends the state that is seen.
func (v *view) end() {
	if v.tx != nil {
		_ = v.tx.Rollback() // nothing was written
		v.tx, v.seats = nil, nil
	}
}
