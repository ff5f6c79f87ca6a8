package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// ReminderSetting is how a member is told of their jobs. A member who set nothing is not reminded.
type ReminderSetting struct {
	Member int64
	Key    string `json:"-"` // the member's
	Name   string
	Coop   int64
	Zone   string // the member's own, else the co-op's
	Wanted bool
	Times  string // of the morning reminder, as scheduler reads them
	Quiet  string // the hours in which nothing is told, as scheduler reads them
	Called bool   // called to group notices that name them
	Care   bool   // routine care is told in a line
	Paused string // why nothing can be told, such as closed direct messages; "" where it can
	// Struck and StruckEvening are the days whose morning and evening were struck last; the scheduler keeps them.
	Struck, StruckEvening calendar.Day
}

const (
	selectReminders = `
SELECT m.id, m.key, m.name, m.coop, CASE WHEN m.zone <> '' THEN m.zone ELSE c.zone END, COALESCE(s.wanted, 0), COALESCE(s.times, '07:00'),
       COALESCE(s.quiet, 'none'), COALESCE(s.called, 0), COALESCE(s.care, 1), COALESCE(s.paused, ''), COALESCE(k.last, ''), COALESCE(e.last, '')
FROM member m JOIN coop c ON c.id = m.coop LEFT JOIN reminder_setting s ON s.member = m.id
LEFT JOIN stroke k ON k.coop = m.coop AND COALESCE(k.member, 0) = m.id AND k.kind = 'morning'
LEFT JOIN stroke e ON e.coop = m.coop AND COALESCE(e.member, 0) = m.id AND e.kind = 'evening'
`
	selectReminder = selectReminders + `WHERE m.id = $1`
	selectCalled   = selectReminders + `WHERE m.coop = $1 AND s.called = 1 ORDER BY m.id`
	upsertReminder = `
INSERT INTO reminder_setting (member, wanted, times, quiet, called, care, paused) VALUES ($1, $2, $3, $4, $5, $6, $7)
ON CONFLICT (member) DO UPDATE SET wanted = excluded.wanted, times = excluded.times, quiet = excluded.quiet, called = excluded.called,
       care = excluded.care, paused = excluded.paused`
	pauseReminder = `UPDATE reminder_setting SET paused = $2 WHERE member = $1`
)

func scanReminder(row scanner) (s ReminderSetting, err error) {
	err = row.Scan(&s.Member, &s.Key, &s.Name, &s.Coop, &s.Zone, &s.Wanted, &s.Times, &s.Quiet, &s.Called, &s.Care, &s.Paused, (*day)(&s.Struck), (*day)(&s.StruckEvening))
	return s, err
}

// Reminders gives how a member is told.
func (r *Register) Reminders(ctx context.Context, member int64) (s ReminderSetting, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { s, err = remindersOf(ctx, tx, member); return err })
	return s, err
}

func remindersOf(ctx context.Context, tx *sql.Tx, member int64) (ReminderSetting, error) {
	return one(fault.New(fault.Missing, "That member is not in the register, or has left. /coop show names the members."),
		tx.QueryRowContext(ctx, selectReminder, member), scanReminder)
}

// Called gives the members of a co-op who asked to be called to the notices that name them.
func (r *Register) Called(ctx context.Context, coop int64) (all []ReminderSetting, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanReminder, selectCalled, coop); return err })
	return all, err
}

// SetReminders keeps how the actor is told. The scheduler takes it up.
func (r *Register) SetReminders(ctx context.Context, actor Actor, s ReminderSetting) error {
	return r.act(ctx, actor, func(a *act) error {
		err := exec(ctx, a.Tx, upsertReminder, a.own.ID, s.Wanted, s.Times, s.Quiet, s.Called, s.Care, s.Paused)
		if err != nil {
			return fmt.Errorf("setting reminders: %w", err)
		}
		return restrike(ctx, a.Tx, a.at, a.own.Coop, a.own.ID, StrokeMorning, StrokeEvening)
	})
}

// PauseReminders keeps why a member cannot be told, until they set their reminders again.
func (r *Register) PauseReminders(ctx context.Context, member int64, why string, at time.Time) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, pauseReminder, member, why); err != nil {
			return fmt.Errorf("pausing reminders: %w", err)
		}
		return restrikeMember(ctx, tx, at, member)
	})
}
