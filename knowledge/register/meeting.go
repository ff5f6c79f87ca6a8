package register

import (
	"context"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Meeting is the day, hour and place appointed for handing a swap over.
type Meeting struct {
	At      time.Time // by the clock of whoever appointed it; the zero time: none was
	Zone    string    // of that clock; "" once a member of the swap has left
	Spot    string
	Changed time.Time // when it was last appointed or called off
	Seq     int       // grows with every change
	Off     bool      // it was called off
}

// Meets reports whether day, hour and place of the handover stand.
func (s Swap) Meets() bool { return s.State == Agreed && !s.Meeting.At.IsZero() && !s.Meeting.Off }

// Appointment is when and where a member means to hand a swap over, by the clock of their place.
type Appointment struct {
	Swap         int64
	Day          calendar.Day
	Hour, Minute int
	Spot         string // "": where it was to be before, else where the giver hands over
}

// The tidings of meetings. Their subjects are swaps.
const (
	TellMeeting TidingKind = "swap-meeting"
	TellMoved   TidingKind = "swap-meeting-moved"
	TellOff     TidingKind = "swap-meeting-off"
	TellMeets   TidingKind = "swap-meets-today" // or tomorrow, early
)

const (
	upsertMeeting = `
INSERT INTO meeting (swap, coop, at, zone, day, spot, changed) VALUES ($1, $2, $3, $4, $5, $6, $7)
ON CONFLICT (swap) DO UPDATE SET at = excluded.at, zone = excluded.zone, day = excluded.day, spot = excluded.spot, changed = excluded.changed,
       called_off = 0, seq = meeting.seq + 1`
	callOff = `UPDATE meeting SET called_off = 1, changed = $2, seq = seq + 1 WHERE swap = $1`
	// What the other member of the swap needs to know of it stays: that it was, and is no more.
	silentMeetings = `UPDATE meeting SET spot = '', zone = '' WHERE swap IN (SELECT id FROM swap WHERE giver = $1 OR receiver = $1)`
)

// Meet appoints day, hour and place of an agreed swap's handover, or moves them, and tells the other member.
func (r *Register) Meet(ctx context.Context, actor Actor, p Appointment) (s Swap, err error) {
	return s, r.act(ctx, actor, func(a *act) error {
		if s, err = a.meetable(ctx, p.Swap); err != nil {
			return err
		}
		at, err := a.struckFor(ctx, s, p)
		if err != nil {
			return err
		}
		if p.Spot == "" {
			p.Spot = s.Spot
			if s.Meets() {
				p.Spot = s.Meeting.Spot
			}
		}
		switch {
		case p.Spot == "":
			return fault.New(fault.Unclear, "Where is swap %d handed over? The offer names no place: say it with where:.", s.ID)
		case s.Meets() && at.Equal(s.Meeting.At) && p.Spot == s.Meeting.Spot:
			return fault.New(fault.Taken, "Swap %d is appointed for that hour and place already. Give another day, hour or place to move it.", s.ID)
		}
		if err := exec(ctx, a.Tx, upsertMeeting, s.ID, s.Coop, instant(at), at.Location().String(), day(p.Day), p.Spot, instant(a.at)); err != nil {
			return fmt.Errorf("appointing a handover: %w", err)
		}
		kind := TellMeeting
		if s.Meets() {
			kind = TellMoved
		}
		if err := a.tellOther(ctx, s, kind); err != nil {
			return err
		}
		if s, err = swapByID(ctx, a.Tx, s.ID); err != nil {
			return err
		}
		return a.keepWords(ctx, s)
	})
}

// CallOff takes day, hour and place of a handover back; the swap stands. The other member is told.
func (r *Register) CallOff(ctx context.Context, actor Actor, swap int64) (s Swap, err error) {
	return s, r.act(ctx, actor, func(a *act) error {
		if s, err = a.meetable(ctx, swap); err != nil {
			return err
		}
		if !s.Meets() {
			return fault.New(fault.Missing, "No day and hour are appointed for swap %d, so there is nothing to call off. /swap meet with day: and hour: appoints them.", s.ID)
		}
		if err := exec(ctx, a.Tx, callOff, s.ID, instant(a.at)); err != nil {
			return fmt.Errorf("calling a handover off: %w", err)
		}
		if err := a.tellOther(ctx, s, TellOff); err != nil {
			return err
		}
		if s, err = swapByID(ctx, a.Tx, s.ID); err != nil {
			return err
		}
		return a.keepWords(ctx, s)
	})
}

// meetable gives a swap of the deed's member that is still to be handed over.
func (a *act) meetable(ctx context.Context, id int64) (Swap, error) {
	if err := a.tend(ctx); err != nil {
		return Swap{}, err
	}
	s, err := a.mySwap(ctx, id)
	if err == nil {
		err = s.settled()
	}
	if err == nil && s.State == HandedOver {
		err = fault.New(fault.Taken, "Swap %d was given on %s already: %d. What it waits for is %s's word, with /swap received.", s.ID, s.GivenOn.Long(), s.Given, s.ToName)
	}
	return s, err
}

// struckFor gives the instant of an appointment by the clock of the deed's member, and refuses one at which the swap
// cannot be handed over.
func (a *act) struckFor(ctx context.Context, s Swap, p Appointment) (time.Time, error) {
	seat, err := seatOf(ctx, a.Tx, a.own.ID)
	if err != nil {
		return time.Time{}, err
	}
	name := seat.Place().Zone
	if name == "" {
		return time.Time{}, fault.New(fault.Missing, "By whose clock is that? No time zone is known: /grower place zone: tells yours, /coop setup zone: the co-op's.")
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return time.Time{}, fmt.Errorf("loading the zone of a place: %w", err)
	}
	at, was := calendar.At(p.Day, p.Hour, p.Minute, zone)
	switch {
	case !was:
		return at, fault.New(fault.Unclear, "The calendar of %s leaves %s out. Name another day.", name, p.Day.Long())
	case !at.After(a.at):
		return at, fault.New(fault.Unclear, "%s has passed. Give a day and an hour still to come, up to %s.", calendar.Instant{At: at, Reader: zone}, s.Last.Long())
	case p.Day < s.First:
		return at, fault.New(fault.Unclear, "Swap %d is ready on %s, not before. Name that day or a later one, up to %s.", s.ID, s.First.Long(), s.Last.Long())
	case p.Day > s.Last:
		return at, fault.New(fault.Unclear, "Swap %d can be handed over until %s only. Name that day or an earlier one.", s.ID, s.Last.Long())
	}
	h, err := holdOf(ctx, a.Tx, s.Batch, p.Day)
	if err == nil && h.ID != 0 {
		err = h.Refusal(s.Mark)
	}
	return at, err
}

// tellOther tells the member of a swap who is not the deed's.
func (a *act) tellOther(ctx context.Context, s Swap, kind TidingKind) error {
	other := s.Giver
	if other == a.own.ID {
		other = s.Receiver
	}
	return a.tell(ctx, other, kind, s.ID)
}
