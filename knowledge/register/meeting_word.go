package register

import (
	"context"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
)

// wordAhead bounds how long before it a member is reminded of a handover, however seldom they are told anything.
const wordAhead = 8 * 24 * time.Hour

const (
	// What is told to the group serves those who have no hour of their own.
	meetsSoon = `
SELECT s.id, s.giver, s.receiver,
       e.giver_told = 0 AND (s.giver = $4 OR $4 = 0 AND NOT EXISTS (
           SELECT 1 FROM stroke k WHERE k.coop = s.coop AND COALESCE(k.member, 0) = s.giver AND k.kind = 'morning' AND k.times <> '')),
       e.receiver_told = 0 AND (s.receiver = $4 OR $4 = 0 AND NOT EXISTS (
           SELECT 1 FROM stroke k WHERE k.coop = s.coop AND COALESCE(k.member, 0) = s.receiver AND k.kind = 'morning' AND k.times <> ''))
FROM meeting e JOIN swap s ON s.id = e.swap
WHERE e.coop = $1 AND e.called_off = 0 AND e.at > $2 AND e.at <= $3 AND s.state = 'agreed' AND ($4 = 0 OR s.giver = $4 OR s.receiver = $4)
ORDER BY e.at, s.id`
	markGiverTold    = `UPDATE meeting SET giver_told = 1 WHERE swap = $1`
	markReceiverTold = `UPDATE meeting SET receiver_told = 1 WHERE swap = $1`
)

// meetings reminds whom a stroke is for of the handovers appointed before the next one comes: on a day like any other
// those of the day. Each is told once.
func (a *act) meetings(ctx context.Context, s Stroke) error {
	if s.Times == "" || s.Kind == StrokeEvening {
		return nil
	}
	until := a.at.Add(wordAhead)
	if s.Next.Before(until) {
		until = s.Next
	}
	type meeting struct {
		swap, giver, receiver int64
		giverNow, receiverNow bool
	}
	soon, err := list(ctx, a.Tx, func(row scanner) (m meeting, err error) {
		err = row.Scan(&m.swap, &m.giver, &m.receiver, &m.giverNow, &m.receiverNow)
		return m, err
	}, meetsSoon, s.Coop, instant(a.at), instant(until), s.Member)
	if err != nil {
		return fmt.Errorf("finding handovers appointed: %w", err)
	}
	if len(soon) > 0 {
		a.today = dayIn(s.Zone, a.at)
	}
	for _, m := range soon {
		for _, one := range []struct {
			now    bool
			member int64
			mark   string
		}{{m.giverNow, m.giver, markGiverTold}, {m.receiverNow, m.receiver, markReceiverTold}} {
			if !one.now {
				continue
			}
			if err := a.tell(ctx, one.member, TellMeetsNow, m.swap); err != nil {
				return err
			}
			if err := exec(ctx, a.Tx, one.mark, m.swap); err != nil {
				return err
			}
		}
	}
	return nil
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
