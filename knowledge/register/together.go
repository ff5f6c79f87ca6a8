package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// bundle is several deeds that stand or fall together. Its transaction begins with the first of them.
type bundle struct {
	reg *Register
	tx  *sql.Tx
}

type bundleKey struct{}

// bundleOf gives the bundle of this register that a context belongs to; nil where there is none.
func (r *Register) bundleOf(ctx context.Context) *bundle {
	if b, ok := ctx.Value(bundleKey{}).(*bundle); ok && b.reg == r {
		return b
	}
	return nil
}

// Together makes one transaction of all the deeds done with the context that it hands on, from the first deed on; what
// is read after that sees it. An error of do takes all of them back. A deed that fails leaves those before it standing,
// for do to go on without it. Within another Together it joins that one. One goroutine at a time may use the context.
func (r *Register) Together(ctx context.Context, do func(context.Context) error) error {
	if r.bundleOf(ctx) != nil {
		return do(ctx)
	}
	b := &bundle{reg: r}
	defer func() {
		if b.tx != nil {
			_ = b.tx.Rollback() // after a commit it does nothing
		}
	}()
	if err := do(context.WithValue(ctx, bundleKey{}, b)); err != nil {
		return err
	}
	if b.tx == nil {
		return nil
	}
	if err := b.tx.Commit(); err != nil {
		return told(fmt.Errorf("committing: %w", err))
	}
	return nil
}

const (
	markDeed   = `SAVEPOINT deed`
	keepDeed   = `RELEASE SAVEPOINT deed`
	returnDeed = `ROLLBACK TO SAVEPOINT deed`
)

// write runs a deed as one of the bundle.
func (b *bundle) write(ctx context.Context, deed func(*sql.Tx) error) error {
	if b.tx == nil {
		tx, err := b.reg.writer.BeginTx(ctx, nil)
		if err != nil {
			return fmt.Errorf("beginning: %w", err)
		}
		b.tx = tx
	}
	if err := exec(ctx, b.tx, markDeed); err != nil {
		return fmt.Errorf("marking a deed: %w", err)
	}
	if err := deed(b.tx); err != nil {
		return errors.Join(err, exec(ctx, b.tx, returnDeed), exec(ctx, b.tx, keepDeed))
	}
	return exec(ctx, b.tx, keepDeed)
}

// write runs one deed in one transaction, which is its bundle's where it has one, and keeps the instant at which it was
// recorded, unless it is played.
func (r *Register) write(ctx context.Context, at time.Time, deed func(*sql.Tx) error) error {
	whole := func(tx *sql.Tx) error {
		if err := deed(tx); err != nil || played(ctx) {
			return err
		}
		return exec(ctx, tx, advanceClock, at.Unix())
	}
	r.Rest(ctx)
	if b := r.bundleOf(ctx); b != nil {
		return told(b.write(ctx, whole))
	}
	return told(within(ctx, r.writer, nil, whole))
}

// read runs queries that see one state of the register: that of the bundle, once it has done a deed, else that of the
// view.
func (r *Register) read(ctx context.Context, look func(*sql.Tx) error) error {
	if b := r.bundleOf(ctx); b != nil && b.tx != nil {
		return told(look(b.tx))
	}
	if v := r.viewOf(ctx); v != nil {
		return told(v.read(look))
	}
	return told(within(ctx, r.reader, &sql.TxOptions{ReadOnly: true}, look))
}
