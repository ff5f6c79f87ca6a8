package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// NoticeSetting is how a co-op's group is told of its jobs. A co-op that set nothing has the defaults.
type NoticeSetting struct {
	Coop         int64
	Key, Name    string // the co-op's
	Zone         string // of the co-op, "" while not known
	Adapter      Adapter
	Place        string       // where the notices go, as the adapter names it; "" where it has only one place
	Times        string       // as scheduler reads them; "" for never
	WeekAhead    int          // the day of the week that tells the week ahead, 0 for Sunday; NoDay for none
	Care         bool         // routine care is told in a line
	Calls        bool         // members who asked for it are called to notices that name them
	StewardsRole string       // the adapter's own name of the role that makes a steward, "" for none
	Struck       calendar.Day // the day struck last; the scheduler keeps it
}

// Adapter is what carries notices to people. Its text is stored and never changes.
type Adapter string

// The adapters.
const (
	Terminal Adapter = "terminal"
	Discord  Adapter = "discord"
)

// NoDay is no day of the week.
const NoDay = -1

const (
	selectNotices = `
SELECT c.id, c.key, c.name, c.zone, COALESCE(s.adapter, 'terminal'), COALESCE(s.place, ''), COALESCE(s.times, '07:00'),
       COALESCE(s.week_ahead, 1), COALESCE(s.care, 0), COALESCE(s.calls, 1), COALESCE(s.steward_role, ''), COALESCE(k.last, '')
FROM coop c LEFT JOIN notice_setting s ON s.coop = c.id
LEFT JOIN stroke k ON k.coop = c.id AND COALESCE(k.member, 0) = 0 AND k.kind = 'notice'
`
	selectNotice = selectNotices + `WHERE c.id = $1`
	upsertNotice = `
INSERT INTO notice_setting (coop, adapter, place, times, week_ahead, care, calls, steward_role)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
ON CONFLICT (coop) DO UPDATE SET adapter = excluded.adapter, place = excluded.place, times = excluded.times,
       week_ahead = excluded.week_ahead, care = excluded.care, calls = excluded.calls, steward_role = excluded.steward_role`
)

func scanNotice(row scanner) (s NoticeSetting, err error) {
	err = row.Scan(&s.Coop, &s.Key, &s.Name, &s.Zone, &s.Adapter, &s.Place, &s.Times, &s.WeekAhead, &s.Care, &s.Calls, &s.StewardsRole, (*day)(&s.Struck))
	return s, err
}

// Notices gives how a co-op's group is told.
func (r *Register) Notices(ctx context.Context, coop int64) (s NoticeSetting, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { s, err = noticesOf(ctx, tx, coop); return err })
	return s, err
}

func noticesOf(ctx context.Context, tx *sql.Tx, coop int64) (NoticeSetting, error) {
	return one(fault.New(fault.Missing, "That co-op is not in the register. Any request that records something begins it."),
		tx.QueryRowContext(ctx, selectNotice, coop), scanNotice)
}

// SetNotices keeps how the actor's co-op is told, a steward's deed; the scheduler takes it up.
func (r *Register) SetNotices(ctx context.Context, actor Actor, s NoticeSetting) error {
	return r.act(ctx, actor, func(a *act) error {
		if err := a.steward("set the co-op's notices"); err != nil {
			return err
		}
		err := exec(ctx, a.Tx, upsertNotice, a.by.Coop, s.Adapter, s.Place, s.Times, s.WeekAhead, s.Care, s.Calls, s.StewardsRole)
		if err != nil {
			return fmt.Errorf("setting notices: %w", err)
		}
		return a.restrikeAll(ctx, a.by.Coop)
	})
}
