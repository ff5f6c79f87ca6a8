package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
)

// The hours at which both members are reminded of a handover, each by their own clock: on the morning of its day, and on
// the evening before where it comes too early for that.
const (
	wordHour    = 7
	tooEarly    = 9 // a handover before that hour
	eveningHour = 18
)

// Word gives when a member in a zone is reminded of a handover; the zero time where it is on the day it was appointed.
func (m Meeting) Word(zone *time.Location) time.Time {
	at := m.At.In(zone)
	day, hour := calendar.DayAt(at), wordHour
	if at.Hour() < tooEarly {
		day, hour = day.Add(-1), eveningHour
	}
	word, _ := calendar.At(day, hour, 0, zone)
	if !word.After(m.Changed) || calendar.DayAt(at) == calendar.DayAt(m.Changed.In(zone)) {
		return time.Time{} // it was told just before
	}
	return word
}

const (
	insertWord    = `INSERT INTO meeting_word (swap, member, due) VALUES ($1, $2, $3)`
	deleteWords   = `DELETE FROM meeting_word WHERE swap = $1`
	deleteWordsTo = `DELETE FROM meeting_word WHERE due <= $1`
	wordsDue      = `
SELECT w.swap, w.member, s.coop FROM meeting_word w JOIN meeting e ON e.swap = w.swap JOIN swap s ON s.id = w.swap
WHERE w.due <= $1 AND e.at > $1 AND s.state = 'agreed' ORDER BY w.due, w.swap, w.member`
)

// keepWords keeps when both members of a swap are to be reminded of its handover, in place of what was kept before.
func (a *act) keepWords(ctx context.Context, s Swap) error {
	if err := exec(ctx, a.Tx, deleteWords, s.ID); err != nil || !s.Meets() {
		return err
	}
	for _, m := range []int64{s.Giver, s.Receiver} {
		zone, err := zoneOf(ctx, a.Tx, m)
		if err != nil {
			return err
		}
		if word := s.Meeting.Word(zone); !word.IsZero() {
			if err := exec(ctx, a.Tx, insertWord, s.ID, m, instant(word)); err != nil {
				return fmt.Errorf("keeping when to remind: %w", err)
			}
		}
	}
	return nil
}

// zoneOf gives the zone of a member's place.
func zoneOf(ctx context.Context, tx *sql.Tx, member int64) (*time.Location, error) {
	seat, err := seatOf(ctx, tx, member)
	return zoneNamed(seat.Place().Zone), err
}

// zoneNamed gives a zone; UTC where none is known, or the name no more.
func zoneNamed(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil {
		return time.UTC
	}
	return zone
}

// RemindOfMeetings writes the tidings of handovers of which members are to be reminded by an instant, each once; what
// has passed meanwhile, or came to nothing, is not told.
func (r *Register) RemindOfMeetings(ctx context.Context, at time.Time) error {
	type word struct{ swap, member, coop int64 }
	return r.write(ctx, at, func(tx *sql.Tx) error {
		due, err := list(ctx, tx, func(row scanner) (w word, err error) {
			err = row.Scan(&w.swap, &w.member, &w.coop)
			return w, err
		}, wordsDue, instant(at))
		if err != nil {
			return fmt.Errorf("finding whom to remind: %w", err)
		}
		for _, w := range due {
			zone, err := zoneOf(ctx, tx, w.member)
			if err != nil {
				return err
			}
			a := &act{Tx: tx, own: Member{Coop: w.coop}, at: at, today: calendar.DayAt(at.In(zone))}
			if err := a.tell(ctx, w.member, TellMeets, w.swap); err != nil {
				return err
			}
		}
		return exec(ctx, tx, deleteWordsTo, instant(at))
	})
}

// Handover says where a swap is handed over, and when, as far as that is known: "the market, Sat 14 Mar 2026, 10:00".
// The instant in it is given too.
func (s Swap) Handover(reader *time.Location) (words string, instants []calendar.Instant) {
	if !s.Meets() {
		return s.Spot, nil
	}
	at := calendar.Instant{At: s.Meeting.At, Reader: reader}
	return s.Meeting.Spot + ", " + at.String(), []calendar.Instant{at}
}
