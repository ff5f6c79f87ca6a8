package register

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"

	"modernc.org/sqlite"
)

// keeping opens connections that keep the statements they prepare: to prepare one anew takes longer than most of them run.
type keeping struct {
	driver.Connector
	ran *atomic.Int64 // statements, on all its connections
}

// Connect opens a connection that keeps its statements.
func (k keeping) Connect(ctx context.Context) (driver.Conn, error) {
	opened, err := k.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	conn, ok := opened.(connection)
	if !ok {
		return nil, errors.Join(fmt.Errorf("the driver's %T is no connection to keep statements on", opened), opened.Close())
	}
	return &keeper{connection: conn, ran: k.ran, kept: map[string]statement{}}, nil
}

// connection is all that the driver's connections can do.
type connection interface {
	driver.Conn
	driver.ConnBeginTx
	driver.ConnPrepareContext
	driver.ExecerContext
	driver.QueryerContext
	driver.Pinger
	driver.SessionResetter
	driver.Validator
	NewBackup(uri string) (*sqlite.Backup, error)
}

type statement interface {
	driver.Stmt
	driver.StmtExecContext
	driver.StmtQueryContext
}

// mostKept bounds the statements of a connection; the register's own are fewer.
const mostKept = 512

// keeper is a connection with the statements that are free to be run again.
type keeper struct {
	connection
	ran  *atomic.Int64
	kept map[string]statement
}

// Unwrap gives the driver's own connection.
func (k *keeper) Unwrap() driver.Conn { return k.connection }

// Close closes the connection with all that it keeps.
func (k *keeper) Close() error {
	var errs []error
	for _, s := range k.kept {
		errs = append(errs, s.Close())
	}
	clear(k.kept)
	return errors.Join(append(errs, k.connection.Close())...)
}

// take gives a statement to run, prepared now where none is free; ok is false for a script, which is run as it is.
func (k *keeper) take(ctx context.Context, query string) (s statement, ok bool, err error) {
	k.ran.Add(1)
	if strings.Contains(strings.TrimRight(query, "; \t\r\n"), ";") {
		return nil, false, nil
	}
	if s, ok := k.kept[query]; ok {
		delete(k.kept, query)
		return s, true, nil
	}
	prepared, err := k.PrepareContext(ctx, query)
	if err != nil {
		return nil, false, err
	}
	s, ok = prepared.(statement)
	if !ok {
		return nil, false, prepared.Close()
	}
	return s, true, nil
}

// free keeps a statement that has run.
func (k *keeper) free(query string, s statement) error {
	if _, twice := k.kept[query]; twice || len(k.kept) >= mostKept {
		return s.Close()
	}
	k.kept[query] = s
	return nil
}

// ExecContext runs a statement without rows.
func (k *keeper) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	s, ok, err := k.take(ctx, query)
	switch {
	case err != nil:
		return nil, err
	case !ok:
		return k.connection.ExecContext(ctx, query, args)
	}
	result, err := s.ExecContext(ctx, args)
	return result, errors.Join(err, k.free(query, s))
}

// QueryContext runs a statement with rows; it is free again once they are closed. A context that ends stops it between two
// rows, which database/sql sees to: for the driver to stop it within one costs a goroutine, longer than most queries run.
func (k *keeper) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	s, ok, err := k.take(ctx, query)
	switch {
	case err != nil:
		return nil, err
	case !ok:
		return k.connection.QueryContext(ctx, query, args)
	}
	rows, err := s.QueryContext(context.WithoutCancel(ctx), args)
	if err != nil {
		return nil, errors.Join(err, k.free(query, s))
	}
	return &keptRows{Rows: rows, done: func() error { return k.free(query, s) }}, nil
}

// keptRows are the rows of a kept statement.
type keptRows struct {
	driver.Rows
	done func() error
}

// Close frees the statement.
func (r *keptRows) Close() error {
	if r.done == nil {
		return nil
	}
	err := errors.Join(r.Rows.Close(), r.done())
	r.done = nil
	return err
}
