package discord

import (
	"context"
	"maps"
	"time"

	"shortday/bot"
)

// Homes tells and keeps what is known of people beyond what Discord says. Each may be nil.
type Homes struct {
	// Now is the instant that what is asked is asked at; the connection's own clock if nil.
	Now func() time.Time
	// Coops gives the co-ops a person belongs to: what a direct message means.
	Coops func(ctx context.Context, person string) ([]bot.Party, error)
	// Steward tells whether one of the roles makes a steward of the co-op.
	Steward func(ctx context.Context, coop string, roles []string) (bool, error)
	// Reach tells whether a person took direct messages when one was last sent.
	Reach func(ctx context.Context, coop, person string) (closed bool, err error)
	// Closed keeps that a person takes no direct messages, Away that they left the server, Reached that neither holds.
	Closed, Away, Reached func(ctx context.Context, coop, person string) error
	// Concerned gives the people whom a request is to bring together: they are looked for in the server first.
	Concerned func(ctx context.Context, ask bot.Ask) ([]string, error)
	// Stewards gives the stewards known of a co-op, as Discord names them.
	Stewards func(ctx context.Context, coop string) ([]string, error)
}

// at is the instant of asking a turn.
func (a *Adapter) at(t *Turn) time.Time {
	if a.homes.Now != nil {
		return a.homes.Now()
	}
	return t.received
}

// coops gives the co-ops of a person; none where that cannot be told.
func (a *Adapter) coops(ctx context.Context, person string) []bot.Party {
	if a.homes.Coops == nil {
		return nil
	}
	coops, err := a.homes.Coops(ctx, person)
	if err != nil {
		a.wrong(ctx, "looking up a person's co-ops", err)
	}
	return coops
}

// closed tells whether reminders to whoever asks are paused, and ends the pause: the next reminder is tried again.
func (a *Adapter) closed(ctx context.Context, ask bot.Ask) bool {
	if a.homes.Reach == nil || ask.Coop.Key == "" {
		return false
	}
	closed, err := a.homes.Reach(ctx, ask.Coop.Key, ask.Who.Key)
	if err == nil && closed && a.homes.Reached != nil {
		err = a.homes.Reached(ctx, ask.Coop.Key, ask.Who.Key)
	}
	if err != nil {
		a.wrong(ctx, "looking up whether a person can be reached", err)
	}
	return closed
}

// paused is what a member reads once whose direct messages were closed to a reminder.
const paused = "A reminder could not be sent to you, because you take no direct messages from this server, and reminders paused. " +
	"Allow them in the server's privacy settings if you want to be reminded; the next reminder is tried again. /job due lists what is due."

// lookedFor is how long it is taken for granted that a person who was found in a server is still there.
const lookedFor = 10 * time.Minute

// lookFor keeps which of the people whom a request concerns have left the server.
func (a *Adapter) lookFor(ctx context.Context, ask bot.Ask) error {
	if a.homes.Concerned == nil || ask.Coop.Key == "" {
		return nil
	}
	people, err := a.homes.Concerned(ctx, ask)
	if err != nil {
		return err
	}
	for _, person := range people {
		if a.seenLately(ask.Coop.Key, person) {
			continue
		}
		there, err := a.conn.Present(ctx, ask.Coop.Key, person)
		if err != nil {
			return err
		}
		if !there && a.homes.Away != nil {
			if err := a.homes.Away(ctx, ask.Coop.Key, person); err != nil {
				return err
			}
		}
		if there {
			a.seenNow(ask.Coop.Key, person)
		}
	}
	return nil
}

// there tells whether a person is in a server, or was lately.
func (a *Adapter) there(ctx context.Context, server, person string) bool {
	if a.seenLately(server, person) {
		return true
	}
	there, err := a.conn.Present(ctx, server, person)
	if err != nil {
		a.log.Warn("looking whether a person is in a server", "err", err)
	}
	if there {
		a.seenNow(server, person)
	}
	return there
}

func (a *Adapter) seenLately(server, person string) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	at, found := a.seen[server+"/"+person]
	return found && a.conn.opts.Now().Sub(at) < lookedFor
}

func (a *Adapter) seenNow(server, person string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.conn.opts.Now()
	if len(a.seen) >= mostSeen {
		maps.DeleteFunc(a.seen, func(_ string, at time.Time) bool { return now.Sub(at) >= lookedFor })
	}
	if len(a.seen) < mostSeen {
		a.seen[server+"/"+person] = now
	}
}

// mostSeen bounds what is remembered of who was found.
const mostSeen = 10_000
