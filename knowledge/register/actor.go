package register

import (
	"context"
	"database/sql"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Actor says who does a deed, and when.
type Actor struct {
	Member int64     // who records
	For    int64     // whose deed it is, where a steward records it for another member; else 0
	At     time.Time // in the asker's zone: its day is today
}

// act is a deed under way: who records it, whose it is, and the transaction it stands or falls with.
type act struct {
	*sql.Tx
	by, own Member
	at      time.Time
	today   calendar.Day
}

// act runs one deed in one transaction, after looking that the actor may do it at all.
func (r *Register) act(ctx context.Context, actor Actor, do func(*act) error) error {
	return r.write(ctx, actor.At, func(tx *sql.Tx) error {
		a := &act{Tx: tx, at: actor.At, today: calendar.DayAt(actor.At)}
		var err error
		if a.by, err = memberByID(ctx, tx, actor.Member); err != nil {
			return err
		}
		if a.own = a.by; actor.For != 0 && actor.For != actor.Member {
			if a.own, err = memberByID(ctx, tx, actor.For); err != nil {
				return err
			}
			if !a.by.Steward || a.own.Coop != a.by.Coop {
				return fault.New(fault.Barred, "Only a steward records for another member. Ask %s, or a steward of the co-op.", a.own.Name)
			}
		}
		return do(a)
	})
}

// steward refuses whoever is not one; the deed is named as in "set the co-op up".
func (a *act) steward(deed string) error {
	if a.by.Steward {
		return nil
	}
	return fault.New(fault.Barred, "Only a steward may %s. /coop show names the stewards.", deed)
}

// mine refuses what is another member's.
func (a *act) mine(member int64, thing string) error {
	if member == a.own.ID {
		return nil
	}
	return fault.New(fault.Barred, "%s is not %s's, and members change only their own. A steward can record it with for: and the name of its member.", thing, a.own.Name)
}
