package discord

import (
	"context"
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
		a.log.Error("looking up a person's co-ops", "err", err)
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
		a.log.Error("looking up whether a person can be reached", "err", err)
	}
	return closed
}

// paused is what a member reads once whose direct messages were closed to a reminder.
const paused = "A reminder could not be sent to you, because you take no direct messages from this server, and reminders paused. " +
	"Allow them in the server's privacy settings if you want to be reminded; the next reminder is tried again. /job due lists what is due."
