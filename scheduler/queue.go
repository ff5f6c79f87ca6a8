package scheduler

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"
	"github.com/riverqueue/river/rivertype"
)

// queue holds errands until they are done, in River's tables of the register's file. The one process that strikes the
// register owns those tables, so that what River's elected leader does is done here without one: it would write to the
// file every few seconds for nothing.
type queue struct {
	db     *sql.DB
	client *river.Client[*sql.Tx]
	now    func() time.Time
}

const (
	attempts   = math.MaxInt16 // time bounds them
	couriers   = 16            // errands under way at once
	pollEvery  = time.Second
	stopWithin = 3 * time.Second // for what is under way when the program is to end
)

// openQueue brings River's tables up to date.
func openQueue(ctx context.Context, db *sql.DB, now func() time.Time, log *slog.Logger, work river.Worker[errand], backOff river.ClientRetryPolicy) (*queue, error) {
	log = slog.New(warnings{log.Handler()})
	driver := riversqlite.New(db)
	migrator, err := rivermigrate.New(driver, &rivermigrate.Config{Logger: log})
	if err != nil {
		return nil, err
	}
	if _, err := migrator.Migrate(ctx, rivermigrate.DirectionUp, nil); err != nil {
		return nil, fmt.Errorf("bringing the tables of errands up to date: %w", err)
	}
	workers := river.NewWorkers()
	river.AddWorker(workers, work)
	client, err := river.NewClient(driver, &river.Config{
		Queues:                 map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: couriers}},
		Workers:                workers,
		PollOnly:               true,
		LeaderElectionDisabled: true,
		FetchPollInterval:      pollEvery,
		JobTimeout:             -1, // an errand keeps its own
		MaxAttempts:            attempts,
		RetryPolicy:            backOff,
		SoftStopTimeout:        stopWithin,
		Logger:                 log,
		Test:                   river.TestConfig{Time: clock(now)}, // the only way to give it ours
	})
	if err != nil {
		return nil, err
	}
	return &queue{db, client, now}, nil
}

// put enqueues errands in a transaction; one that is there already is not put a second time.
func (q *queue) put(ctx context.Context, tx *sql.Tx, errands ...errand) error {
	if len(errands) == 0 {
		return nil
	}
	params := make([]river.InsertManyParams, len(errands))
	for i, e := range errands {
		params[i] = river.InsertManyParams{Args: e, InsertOpts: &river.InsertOpts{UniqueOpts: river.UniqueOpts{ByArgs: true}}}
	}
	if _, err := q.client.InsertManyTx(ctx, tx, params); err != nil {
		return fmt.Errorf("enqueuing: %w", err)
	}
	return nil
}

const (
	interruptedErrands = `SELECT json(args) FROM river_job WHERE state = 'running' AND kind = 'notice'`
	putBackErrands     = `UPDATE river_job SET state = 'available', scheduled_at = $1 WHERE state IN ('running', 'scheduled', 'retryable')`
	wakeErrands        = `UPDATE river_job SET state = 'available' WHERE state IN ('scheduled', 'retryable') AND scheduled_at <= $1`
	nextErrand         = `SELECT COALESCE(min(scheduled_at), '') FROM river_job WHERE state IN ('scheduled', 'retryable')`
	lostErrands        = `SELECT id, json(args) FROM river_job WHERE state = 'running' AND attempted_at < $1`
	putBackErrand      = `UPDATE river_job SET state = 'available', scheduled_at = $2 WHERE id = $1 AND state = 'running'`
	sweepErrands       = `DELETE FROM river_job WHERE state IN ('completed', 'cancelled', 'discarded') AND finalized_at < $1`
	sweepNotes         = `DELETE FROM river_notification` // whom nobody listens to
	riverTime          = "2006-01-02 15:04:05.000"        // as its tables hold an instant
)

// interrupted gives the errands that were under way when the process before this one died.
func (q *queue) interrupted(ctx context.Context) ([]errand, error) {
	return q.errands(ctx, interruptedErrands)
}

func (q *queue) errands(ctx context.Context, query string) ([]errand, error) {
	rows, err := q.db.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }() // Err tells what matters
	var all []errand
	for rows.Next() {
		var text string
		var e errand
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		if err := json.Unmarshal([]byte(text), &e); err != nil {
			return nil, fmt.Errorf("reading an errand: %w", err)
		}
		all = append(all, e)
	}
	return all, rows.Err()
}

// putBack makes all that is not done ready to be tried at once: who waited for the process before this one waits no more.
func (q *queue) putBack(ctx context.Context) error {
	_, err := q.db.ExecContext(ctx, putBackErrands, q.at(q.now()))
	return err
}

// wake makes ready what has waited long enough, and gives when the next one will have; the zero time where none waits.
func (q *queue) wake(ctx context.Context) (next time.Time, err error) {
	var text string
	if err := q.db.QueryRowContext(ctx, nextErrand).Scan(&text); err != nil || text == "" {
		return time.Time{}, err
	}
	if next, err = time.Parse(riverTime, text); err != nil || next.After(q.now()) {
		return next, err
	}
	if _, err := q.db.ExecContext(ctx, wakeErrands, q.at(q.now())); err != nil {
		return time.Time{}, err
	}
	return q.now().Add(pollEvery), nil
}

// lostAfter is how long an errand may be running in the tables without being under way.
const lostAfter = 2 * time.Minute

// putBackLost makes ready what is running in the tables alone: when the file cannot be written, what became of an
// attempt is not kept there.
func (q *queue) putBackLost(ctx context.Context, underWay func(key string) bool) error {
	rows, err := q.db.QueryContext(ctx, lostErrands, q.at(q.now().Add(-lostAfter)))
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }() // Err tells what matters
	var lost []int64
	for rows.Next() {
		var id int64
		var text string
		var e errand
		if err := rows.Scan(&id, &text); err != nil {
			return err
		}
		if err := json.Unmarshal([]byte(text), &e); err != nil {
			return fmt.Errorf("reading an errand: %w", err)
		}
		if !underWay(e.Key) {
			lost = append(lost, id)
		}
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return err
	}
	for _, id := range lost {
		if _, err := q.db.ExecContext(ctx, putBackErrand, id, q.at(q.now())); err != nil {
			return err
		}
	}
	return nil
}

// sweep removes what is long done.
func (q *queue) sweep(ctx context.Context, before time.Time) error {
	if _, err := q.db.ExecContext(ctx, sweepErrands, q.at(before)); err != nil {
		return err
	}
	_, err := q.db.ExecContext(ctx, sweepNotes)
	return err
}

func (q *queue) at(t time.Time) string { return t.UTC().Format(riverTime) }

// clock is the time of the program, for River.
type clock func() time.Time

var _ rivertype.TimeGenerator = clock(nil)

func (c clock) Now() time.Time { return c() }

func (c clock) NowOrNil() *time.Time {
	now := c()
	return &now
}

// warnings lets through what someone has to look after; River tells much else.
type warnings struct{ slog.Handler }

func (w warnings) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= slog.LevelWarn && w.Handler.Enabled(ctx, level)
}

func (w warnings) WithAttrs(attrs []slog.Attr) slog.Handler {
	return warnings{w.Handler.WithAttrs(attrs)}
}

func (w warnings) WithGroup(name string) slog.Handler { return warnings{w.Handler.WithGroup(name)} }
