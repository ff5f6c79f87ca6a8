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
	Adapter Adapter
	Times   string // empty: never
	Zone    string
	Last    calendar.Day // the local day last struck
	Said    calendar.Day // the local day up to which all was told
	Next    time.Time    // the zero time: settings changed
	Changed time.Time    // when they did
	seq     int

	CoopKey   string `json:"-"` // how the platform names the co-op
	MemberKey string `json:"-"` // and the member; empty for the group
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

	selectStrokes = `
SELECT s.id, s.coop, s.member, s.kind, s.adapter, s.times, s.zone, s.last, s.said, s.next, s.changed, s.seq, c.key, COALESCE(m.key, '')
FROM stroke s JOIN coop c ON c.id = s.coop LEFT JOIN member m ON m.id = s.member
`
	selectChanged    = selectStrokes + `WHERE s.next = 0 ORDER BY s.id LIMIT $1`
	selectDueStrokes = selectStrokes + `
WHERE s.adapter = $1 AND s.next > 0 AND s.next <= $2 AND ($3 = 0 OR s.coop = $3 AND COALESCE(s.member, 0) IN (0, $4)) ORDER BY s.next, s.id LIMIT $5`
	selectStroke     = selectStrokes + `WHERE s.coop = $1 AND COALESCE(s.member, 0) = $2 AND s.kind = $3`
	selectOwnStrokes = selectStrokes + `WHERE s.member = $1 ORDER BY s.id`
	selectPulse      = `
SELECT last, EXISTS (SELECT 1 FROM stroke WHERE next = 0), EXISTS (SELECT 1 FROM tiding WHERE taken = 0),
       COALESCE((SELECT min(next) FROM stroke WHERE adapter = $1 AND next > 0 AND ($2 = 0 OR coop = $2 AND COALESCE(member, 0) IN (0, $3))), 0),
       COALESCE((SELECT min(due) FROM meeting_word), 0)
FROM clock`
	updateStroke = `
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
		(*instant)(&s.Next), (*instant)(&s.Changed), &s.seq, &s.CoopKey, &s.MemberKey)
	return s, err
}

// ChangedStrokes gives those whose settings changed, for the scheduler to take up.
func (r *Register) ChangedStrokes(ctx context.Context, limit int) (changed []Stroke, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		changed, err = list(ctx, tx, scanStroke, selectChanged, limit)
		return err
	})
	return changed, err
}

// DueStrokes gives those of an adapter that are to be struck by an instant, the earliest first.
func (r *Register) DueStrokes(ctx context.Context, adapter Adapter, whose Whose, by time.Time, limit int) (due []Stroke, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		due, err = list(ctx, tx, scanStroke, selectDueStrokes, adapter, instant(by), whose.Coop, whose.Member, limit)
		return err
	})
	return due, err
}

// Whose are those of one co-op and its one member; the zero Whose is everybody's.
type Whose struct{ Coop, Member int64 }

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

// Pulse tells whether there is anything to strike.
type Pulse struct {
	Last    time.Time // the latest instant at which anything was recorded; the zero time in a new register
	Changed bool      // settings changed
	Tidings bool      // tidings wait
	Next    time.Time // the earliest stroke; the zero time where there is none
	Meets   time.Time // when somebody is first to be reminded of a handover; the zero time where nobody is
}

// Pulse looks after all of them at once. It is asked every minute, so it costs the same however much is stored.
func (r *Register) Pulse(ctx context.Context, adapter Adapter, whose Whose) (p Pulse, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, selectPulse, adapter, whose.Coop, whose.Member).
			Scan((*instant)(&p.Last), &p.Changed, &p.Tidings, (*instant)(&p.Next), (*instant)(&p.Meets))
	})
	return p, err
}

// Strike keeps strokes as they are now, and enqueues what comes of those whose settings did not change meanwhile, all in
// one transaction. The others come due again.
func (r *Register) Strike(ctx context.Context, at time.Time, strokes []Stroke, enqueue func(context.Context, *sql.Tx, []Stroke) error) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		struck := make([]Stroke, 0, len(strokes))
		for _, s := range strokes {
			done, err := tx.ExecContext(ctx, updateStroke, s.ID, s.seq, s.Adapter, s.Times, s.Zone, day(s.Last), day(s.Said), instant(s.Next))
			if err != nil {
				return fmt.Errorf("striking: %w", err)
			}
			n, err := done.RowsAffected()
			if err != nil {
				return err
			}
			if n > 0 {
				struck = append(struck, s)
			}
		}
		if err := tendStruck(ctx, tx, at, strokes); err != nil {
			return err
		}
		return enqueue(ctx, tx, struck)
	})
}
