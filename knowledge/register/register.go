// Package register holds all that is recorded, in one SQLite file: co-ops, members, varieties, batches, plans, jobs and
// what was done. It is the only package with SQL; what the dates are it leaves to crop, and chat to others.
package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"strconv"
	"sync/atomic"
	"time"

	"modernc.org/sqlite"

	"shortday/knowledge/fault"
)

// Register is an open register. It may be used by many goroutines at once: one writes at a time, others read meanwhile.
type Register struct {
	path   string
	writer *sql.DB // one connection
	reader *sql.DB
	ran    *atomic.Int64
	spare  string
}

const (
	readers     = 8
	busyTimeout = 5 * time.Second
)

// Open opens the register in a file and brings its tables up to date; a missing or empty file becomes a new register.
// A file of another program, or of a newer Shortday, is refused with a *fault.Error.
func Open(ctx context.Context, path string) (*Register, error) {
	if err := checkFile(path); err != nil {
		return nil, err
	}
	ran := new(atomic.Int64)
	r := &Register{path: path, writer: connect(path, "immediate", 1, ran), reader: connect(path, "deferred", readers, ran), ran: ran}
	var err error
	if r.spare, err = migrate(ctx, r.writer, path); err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return r, nil
}

// connect makes a pool; every connection of it gets the pragmas from its data source name.
func connect(path, lock string, most int, ran *atomic.Int64) *sql.DB {
	q := url.Values{"_txlock": {lock}, "_pragma": {
		"busy_timeout(" + strconv.FormatInt(busyTimeout.Milliseconds(), 10) + ")",
		"foreign_keys(1)",
		"synchronous(full)",
	}}
	if lock == "immediate" {
		q.Add("_pragma", "journal_mode(wal)")
	} else {
		q.Add("_pragma", "query_only(1)")
	}
	return counted(path, q, most, ran)
}

func pool(path string, q url.Values, most int) *sql.DB {
	return counted(path, q, most, new(atomic.Int64))
}

// counted makes a pool whose connections keep their statements, and count those that they run.
func counted(path string, q url.Values, most int, ran *atomic.Int64) *sql.DB {
	connector, err := sqlite.NewConnector(fileURI(path) + "?" + q.Encode())
	if err != nil {
		panic("register: the data source name is wrong: " + err.Error())
	}
	db := sql.OpenDB(keeping{connector, ran})
	db.SetMaxOpenConns(most)
	db.SetMaxIdleConns(most)
	return db
}

func fileURI(path string) string { return "file:" + (&url.URL{Path: path}).EscapedPath() }

// Close closes the register.
func (r *Register) Close() error { return errors.Join(r.reader.Close(), r.writer.Close()) }

// Spare gives the file in which Open kept a copy of the register before it brought the tables up to date; "" where they
// were.
func (r *Register) Spare() string { return r.spare }

// Statements gives how many statements have run since the register was opened: what a request costs, for measuring.
func (r *Register) Statements() int64 { return r.ran.Load() }

// Path gives the file that holds it.
func (r *Register) Path() string { return r.path }

const writeNothing = `UPDATE clock SET last = last`

// Writable reports why nothing can be written, by writing what changes nothing; nil where all is well.
func (r *Register) Writable(ctx context.Context) error {
	return told(within(ctx, r.writer, nil, func(tx *sql.Tx) error { return exec(ctx, tx, writeNothing) }))
}

// DB gives the one connection that writes, for the tables that others keep in the same file (River's, by scheduler).
func (r *Register) DB() *sql.DB { return r.writer }

func within(ctx context.Context, db *sql.DB, opts *sql.TxOptions, do func(*sql.Tx) error) error {
	tx, err := db.BeginTx(ctx, opts)
	if err != nil {
		return fmt.Errorf("beginning: %w", err)
	}
	defer func() { _ = tx.Rollback() }() // after a commit it does nothing
	if err := do(tx); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("committing: %w", err)
	}
	return nil
}

const (
	advanceClock = `UPDATE clock SET last = $1 WHERE last < $1`
	lastInstant  = `SELECT last FROM clock`
)

// LastInstant gives the latest instant at which anything was recorded and not only played; the zero time in a new register.
func (r *Register) LastInstant(ctx context.Context) (at time.Time, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, lastInstant).Scan((*instant)(&at)) })
	return at, err
}

// scanner is a row, alone or among others.
type scanner interface{ Scan(dest ...any) error }

func exec(ctx context.Context, tx *sql.Tx, query string, args ...any) error {
	_, err := tx.ExecContext(ctx, query, args...)
	return err
}

func list[T any](ctx context.Context, tx *sql.Tx, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }() // Err tells what matters
	var all []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, rows.Err()
}

// one scans a row; where there is none, missing is the answer.
func one[T any](missing *fault.Error, row *sql.Row, scan func(scanner) (T, error)) (T, error) {
	found, err := scan(row)
	if errors.Is(err, sql.ErrNoRows) {
		return found, missing
	}
	return found, err
}

func scanID(row scanner) (id int64, err error) {
	err = row.Scan(&id)
	return id, err
}

func scanText(row scanner) (text string, err error) {
	err = row.Scan(&text)
	return text, err
}
