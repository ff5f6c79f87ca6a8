package scheduler

import (
	"context"
	"fmt"
	"time"

	"shortday/knowledge/register"
)

// meetingComposers tell of the day and hour at which a swap is handed over.
func meetingComposers() map[register.TidingKind]composer {
	return map[register.TidingKind]composer{
		register.TellMeeting: composeMeeting, register.TellMoved: composeMeeting, register.TellOff: composeOff, register.TellMeets: composeMeets,
	}
}

// meetOffers offer to appoint a handover, and what can be done about one that is appointed.
func meetOffers(s register.Swap) []Offer {
	ask := ofNumber("/swap meet", "swap", s.ID)
	if !s.Meets() {
		return []Offer{{fmt.Sprintf("Appoint day and hour of swap %d", s.ID), ask}}
	}
	return []Offer{{fmt.Sprintf("Another day or hour for swap %d", s.ID), ask}, {fmt.Sprintf("Call day and hour of swap %d off", s.ID), ask + " off:yes"}}
}

// stale reports whether a meeting changed after a tiding of it: there is another one then.
func stale(s register.Swap, t register.Tiding) bool { return s.Meeting.Changed.Unix() > t.At.Unix() }

// readerOf gives the zone of a member, nil where none is known.
func readerOf(ctx context.Context, reg *register.Register, member int64) (*time.Location, error) {
	seat, err := reg.Seat(ctx, member)
	if err != nil || seat.Place().Zone == "" {
		return nil, err
	}
	return time.LoadLocation(seat.Place().Zone)
}

// meets writes what is handed over, where and when, by the clock of the member told.
func (n *Notice) meets(ctx context.Context, reg *register.Register, s register.Swap, member int64) error {
	reader, err := readerOf(ctx, reg, member)
	words, instants := s.Handover(reader)
	n.Text, n.Instants = s.Sentence()+".\n\nHanded over: "+words+".", instants
	return err
}

func otherOf(s register.Swap, member int64) string {
	if s.Giver == member {
		return s.ToName
	}
	return s.GiverName
}

func composeMeeting(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || !s.Meets() || stale(s, t) {
		return n, false, err
	}
	err = n.meets(ctx, reg, s, t.Member)
	n.Title = fmt.Sprintf("Swap %d: day and hour appointed", s.ID)
	if t.Kind == register.TellMoved {
		n.Title = fmt.Sprintf("Swap %d: day and hour moved", s.ID)
	}
	n.Text += fmt.Sprintf(" That is by %s's word: if it does not suit you, name another day or hour.", otherOf(s, t.Member))
	n.Next = meetOffers(s)
	return n, true, err
}

func composeOff(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || s.State != register.Agreed || !s.Meeting.Off || stale(s, t) {
		return n, false, err
	}
	n.Title = fmt.Sprintf("Swap %d: day and hour called off", s.ID)
	n.Text = fmt.Sprintf("%s called day and hour off. The swap stands: %s, %s.", otherOf(s, t.Member), s.Sentence(), s.When())
	n.Next = meetOffers(s)
	return n, true, nil
}

// composeMeets reminds of a handover; plants that are held back since are not to be handed over.
func composeMeets(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || !s.Meets() || stale(s, t) {
		return n, false, err
	}
	if err := n.meets(ctx, reg, s, t.Member); err != nil {
		return n, false, err
	}
	n.Title = fmt.Sprintf("To receive: swap %d", s.ID)
	if s.Giver == t.Member {
		n.Title = fmt.Sprintf("To hand over: swap %d", s.ID)
		n.Next = []Offer{{"I have given it", ofNumber("/swap given", "swap", s.ID)}}
	}
	n.Next = append(n.Next, meetOffers(s)...)
	held, err := reg.HoldOf(ctx, s.Batch, t.On)
	if err == nil && held.ID != 0 {
		n.Text += "\n\nBut: " + held.Refusal(s.Mark).Text
	}
	return n, true, err
}
