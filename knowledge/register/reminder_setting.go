package register

import (
	"context"
	"database/sql"
	"errors"
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
	Paused string // why nothing can be told, such as closed direct messages; "" where it can
	// Struck and StruckEvening are the days whose morning and evening were struck last.
	Struck, StruckEvening calendar.Day
}

const (
	selectReminders = `
SELECT m.id, m.key, m.name, m.coop, CASE WHEN m.zone <> '' THEN m.zone ELSE c.zone END, COALESCE(s.wanted, 0), COALESCE(s.times, '07:00'),
       COALESCE(s.quiet, 'none'), COALESCE(s.called, 0), COALESCE(s.paused, ''), COALESCE(s.struck, ''), COALESCE(s.struck_evening, '')
FROM member m JOIN coop c ON c.id = m.coop LEFT JOIN reminder_setting s ON s.member = m.id
`
	selectReminder     = selectReminders + `WHERE m.id = $1`
	selectCalled       = selectReminders + `WHERE m.coop = $1 AND s.called = 1 ORDER BY m.id`
	selectAllReminders = `
SELECT m.id, m.key, m.name, m.coop, CASE WHEN m.zone <> '' THEN m.zone ELSE c.zone END, s.wanted, s.times,
       s.quiet, s.called, s.paused, s.struck, s.struck_evening
FROM reminder_setting s JOIN member m ON m.id = s.member JOIN coop c ON c.id = m.coop
WHERE s.wanted = 1 AND s.paused = '' ORDER BY m.id`
	upsertReminder = `
INSERT INTO reminder_setting (member, wanted, times, quiet, called, paused, struck, struck_evening) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
ON CONFLICT (member) DO UPDATE SET wanted = excluded.wanted, times = excluded.times, quiet = excluded.quiet, called = excluded.called,
       paused = excluded.paused,
       struck = CASE WHEN excluded.struck > reminder_setting.struck THEN excluded.struck ELSE reminder_setting.struck END,
       struck_evening = CASE WHEN excluded.struck_evening > reminder_setting.struck_evening
                             THEN excluded.struck_evening ELSE reminder_setting.struck_evening END`
	pauseReminder = `UPDATE reminder_setting SET paused = $2 WHERE member = $1`
)

func scanReminder(row scanner) (s ReminderSetting, err error) {
	err = row.Scan(&s.Member, &s.Key, &s.Name, &s.Coop, &s.Zone, &s.Wanted, &s.Times, &s.Quiet, &s.Called, &s.Paused, (*day)(&s.Struck), (*day)(&s.StruckEvening))
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

// AllReminders gives how each member is told who wants to be reminded and can be.
func (r *Register) AllReminders(ctx context.Context) (all []ReminderSetting, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanReminder, selectAllReminders); return err })
	return all, err
}

// Called gives the members of a co-op who asked to be called to the notices that name them.
func (r *Register) Called(ctx context.Context, coop int64) (all []ReminderSetting, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanReminder, selectCalled, coop); return err })
	return all, err
}

// SetReminders keeps how the actor is told. The days struck only move forwards.
func (r *Register) SetReminders(ctx context.Context, actor Actor, s ReminderSetting) error {
	return r.act(ctx, actor, func(a *act) error {
		err := exec(ctx, a.Tx, upsertReminder, a.own.ID, s.Wanted, s.Times, s.Quiet, s.Called, s.Paused, day(s.Struck), day(s.StruckEvening))
		if err != nil {
			return fmt.Errorf("setting reminders: %w", err)
		}
		return nil
	})
}

// PauseReminders keeps why a member cannot be told, until they set their reminders again.
func (r *Register) PauseReminders(ctx context.Context, member int64, why string, at time.Time) error {
	return r.write(ctx, at, func(tx *sql.Tx) error { return exec(ctx, tx, pauseReminder, member, why) })
}

// StrikeReminder marks a day's morning, or its evening, of a member as struck and enqueues what comes of it, both in
// one transaction. A day that is not after the one struck last is not enqueued again, nor is one of a member who left.
func (r *Register) StrikeReminder(ctx context.Context, member int64, evening bool, on calendar.Day, at time.Time, enqueue func(context.Context, *sql.Tx) error) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		s, err := scanReminder(tx.QueryRowContext(ctx, selectReminder, member))
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		last := &s.Struck
		if evening {
			last = &s.StruckEvening
		}
		if on <= *last || !s.Wanted || s.Paused != "" {
			return nil
		}
		*last = on
		err = exec(ctx, tx, upsertReminder, member, s.Wanted, s.Times, s.Quiet, s.Called, s.Paused, day(s.Struck), day(s.StruckEvening))
		if err != nil {
			return fmt.Errorf("striking a member: %w", err)
		}
		return enqueue(ctx, tx)
	})
}
