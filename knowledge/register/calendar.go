package register

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

const (
	selectIdentity = `SELECT token FROM identity`
	// Of plans that ended long ago nobody's calendar needs to hear any more.
	selectCalendarJobs = selectJobs + `
JOIN plan p ON p.id = j.plan
WHERE j.member = $1 AND p.member = $1 AND (p.ended = '' OR p.ended >= $2) ORDER BY j.due, v.folded, j.kind, j.plan`
	selectCalendarSwaps = selectSwaps + `
WHERE s.id IN (SELECT id FROM swap WHERE giver = $1 UNION SELECT id FROM swap WHERE receiver = $1) AND e.day >= $2 ORDER BY e.at, s.id`
	keptFor = 400 // days
)

// CalendarSwaps gives a member's swaps for whose handover a day and an hour were appointed, called off or over too, but
// for those of more than 400 days ago; by their hour.
func (r *Register) CalendarSwaps(ctx context.Context, member int64, today calendar.Day) (swaps []Swap, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		swaps, err = list(ctx, tx, scanSwap, selectCalendarSwaps, member, day(today.Add(-keptFor)))
		return err
	})
	return swaps, err
}

// Revision grows with all that changes of a meeting: as it is moved, and as the swap goes on.
func (s Swap) Revision() int {
	return s.Meeting.Seq + map[SwapState]int{HandedOver: 1, Arrived: 2, SwapCanceled: 3}[s.State]
}

// CalendarJobs gives a member's jobs of all states, of running plans and of those ended within the last 400 days, by
// day; and a word that tells this register from all others.
func (r *Register) CalendarJobs(ctx context.Context, member int64, today calendar.Day) (jobs []Job, identity string, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, selectIdentity).Scan(&identity); err != nil {
			return fmt.Errorf("naming the register: %w", err)
		}
		jobs, err = list(ctx, tx, scanJob, selectCalendarJobs, member, day(today.Add(-keptFor)))
		return err
	})
	return jobs, identity, err
}

const (
	selectFeedBase = `SELECT url FROM feed_base`
	updateFeedBase = `UPDATE feed_base SET url = $1`
)

// ServeFeeds keeps the address under which a program serves the calendars, without a slash at its end; "" for none.
func (r *Register) ServeFeeds(ctx context.Context, url string) error {
	return r.write(ctx, time.Time{}, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, updateFeedBase, url); err != nil {
			return fmt.Errorf("keeping the address of the calendars: %w", err)
		}
		return nil
	})
}

// FeedBase gives the address under which calendars are served, "" while none are.
func (r *Register) FeedBase(ctx context.Context) (url string, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, selectFeedBase).Scan(&url) })
	return url, err
}

const (
	upsertFeed = `
INSERT INTO feed (member, token, since) VALUES ($1, $2, $3)
ON CONFLICT (member) DO UPDATE SET token = excluded.token, since = excluded.since`
	deleteFeed = `DELETE FROM feed WHERE member = $1`
	selectFeed = `SELECT token FROM feed WHERE member = $1`
	feedOwner  = `SELECT member FROM feed WHERE token = $1`
)

// NewFeed gives the word by which the actor's calendar can be subscribed to: 128 bits by chance. An earlier one no
// longer serves.
func (r *Register) NewFeed(ctx context.Context, actor Actor) (token string, err error) {
	token = rand.Text()
	return token, r.act(ctx, actor, func(a *act) error {
		if err := exec(ctx, a.Tx, upsertFeed, a.own.ID, token, instant(a.at)); err != nil {
			return fmt.Errorf("opening a calendar feed: %w", err)
		}
		return nil
	})
}

// EndFeed revokes the actor's word.
func (r *Register) EndFeed(ctx context.Context, actor Actor) error {
	return r.act(ctx, actor, func(a *act) error {
		done, err := a.ExecContext(ctx, deleteFeed, a.own.ID)
		if err != nil {
			return fmt.Errorf("ending a calendar feed: %w", err)
		}
		if n, err := done.RowsAffected(); err != nil || n > 0 {
			return err
		}
		return fault.New(fault.Missing, "You have no calendar address. /plan calendar address:new makes one.")
	})
}

// Feed gives a member's word, "" where there is none.
func (r *Register) Feed(ctx context.Context, member int64) (token string, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, selectFeed, member).Scan(&token) })
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return token, err
}

// FeedSeat gives whose calendar a word opens; the zero Seat where it opens none.
func (r *Register) FeedSeat(ctx context.Context, token string) (seat Seat, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		member, err := scanID(tx.QueryRowContext(ctx, feedOwner, token))
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		seat, err = seatOf(ctx, tx, member)
		return err
	})
	return seat, err
}
