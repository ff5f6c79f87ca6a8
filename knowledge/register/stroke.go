package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
)

// Stroke is how far the telling of one addressee at their hours has come. Adapter, Times and Zone are the settings as
// they were last taken up; the scheduler takes up what changed.
type Stroke struct {
	ID      int64
	Coop    int64
	Member  int64 // 0: the group
	Kind    StrokeKind
	Adapter string
	Times   string // empty: never
	Zone    string
	Last    calendar.Day // the local day last struck
	Said    calendar.Day // the local day up to which all was told
	Next    time.Time    // the zero time: settings changed
	Changed time.Time    // when they did
	seq     int
}

// StrokeKind is what an addressee is told at their hours. Its text is stored and never changes.
type StrokeKind string

// The kinds: what the group is told, what a member is told in the morning, and the evening before.
const (
	StrokeNotice  StrokeKind = "notice"
	StrokeMorning StrokeKind = "morning"
	StrokeEvening StrokeKind = "evening"
)

const (
	markChanged = `
INSERT INTO stroke (coop, member, kind, changed) VALUES ($1, $2, $3, $4)
ON CONFLICT (coop, COALESCE(member, 0), kind) DO UPDATE SET next = 0, changed = excluded.changed, seq = stroke.seq + 1`
	markCoopChanged   = `UPDATE stroke SET next = 0, changed = $2, seq = seq + 1 WHERE coop = $1`
	markMemberChanged = `UPDATE stroke SET next = 0, changed = $2, seq = seq + 1 WHERE member = $1`

	selectStrokes    = `SELECT id, coop, member, kind, adapter, times, zone, last, said, next, changed, seq FROM stroke `
	selectDueStrokes = selectStrokes + `WHERE next <= $1 ORDER BY next, id LIMIT $2`
	selectStroke     = selectStrokes + `WHERE coop = $1 AND COALESCE(member, 0) = $2 AND kind = $3`
	selectOwnStrokes = selectStrokes + `WHERE member = $1 ORDER BY id`
	selectNextStroke = `SELECT COALESCE(min(next), 0) FROM stroke`
	updateStroke     = `
UPDATE stroke SET adapter = $3, times = $4, zone = $5, last = $6, said = $7, next = $8 WHERE id = $1 AND seq = $2`
)

// restrike marks that the hours of an addressee, or where they are told, changed: the scheduler takes it up.
func restrike(ctx context.Context, tx *sql.Tx, at time.Time, coop, member int64, kinds ...StrokeKind) error {
	for _, kind := range kinds {
		if err := exec(ctx, tx, markChanged, coop, ref(member), kind, instant(at)); err != nil {
			return fmt.Errorf("marking changed hours: %w", err)
		}
	}
	return nil
}

// restrikeAll marks all addressees of a co-op.
func (a *act) restrikeAll(ctx context.Context, coop int64) error {
	if err := exec(ctx, a.Tx, markCoopChanged, coop, instant(a.at)); err != nil {
		return fmt.Errorf("marking changed hours: %w", err)
	}
	return nil
}

// restrikeMember marks what a member is told, where there is any.
func restrikeMember(ctx context.Context, tx *sql.Tx, at time.Time, member int64) error {
	if err := exec(ctx, tx, markMemberChanged, member, instant(at)); err != nil {
		return fmt.Errorf("marking changed hours: %w", err)
	}
	return nil
}

func scanStroke(row scanner) (s Stroke, err error) {
	err = row.Scan(&s.ID, &s.Coop, (*ref)(&s.Member), &s.Kind, &s.Adapter, &s.Times, &s.Zone, (*day)(&s.Last), (*day)(&s.Said),
		(*instant)(&s.Next), (*instant)(&s.Changed), &s.seq)
	return s, err
}

// DueStrokes gives those that are to be struck by an instant, or whose settings changed, the earliest first.
func (r *Register) DueStrokes(ctx context.Context, by time.Time, limit int) (due []Stroke, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		due, err = list(ctx, tx, scanStroke, selectDueStrokes, instant(by), limit)
		return err
	})
	return due, err
}

// StrokeOf gives the stroke of an addressee; the zero Stroke where there is none.
func (r *Register) StrokeOf(ctx context.Context, coop, member int64, kind StrokeKind) (s Stroke, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err := list(ctx, tx, scanStroke, selectStroke, coop, member, kind)
		if len(all) > 0 {
			s = all[0]
		}
		return err
	})
	return s, err
}

// NextStroke gives the instant of the earliest stroke; the zero time where settings changed, or there is none.
func (r *Register) NextStroke(ctx context.Context) (at time.Time, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, selectNextStroke).Scan((*instant)(&at)) })
	return at, err
}

// Strike keeps strokes as they are now, and enqueues what comes of those whose settings did not change meanwhile, all in
// one transaction. The others come due again.
func (r *Register) Strike(ctx context.Context, at time.Time, strokes []Stroke, enqueue func(context.Context, *sql.Tx, Stroke) error) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		for _, s := range strokes {
			done, err := tx.ExecContext(ctx, updateStroke, s.ID, s.seq, s.Adapter, s.Times, s.Zone, day(s.Last), day(s.Said), instant(s.Next))
			if err != nil {
				return fmt.Errorf("striking: %w", err)
			}
			if n, err := done.RowsAffected(); err != nil {
				return err
			} else if n == 0 {
				continue
			}
			if err := enqueue(ctx, tx, s); err != nil {
				return err
			}
		}
		return tendStruck(ctx, tx, at, strokes)
	})
}
