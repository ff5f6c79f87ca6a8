package discord

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/scheduler"
)

// Platform is where the scheduler's notices go: a channel of the co-op's server, or a member's direct messages.
func (a *Adapter) Platform() scheduler.Platform {
	return scheduler.Platform{Deliver: a.tell, Find: a.told}
}

// tell posts a notice and gives its place and id.
func (a *Adapter) tell(ctx context.Context, n scheduler.Notice) (scheduler.Receipt, error) {
	channel, err := a.place(ctx, n)
	if err != nil {
		return "", err
	}
	r := bot.Reply{Title: n.Title, Text: n.Text, Instants: n.Instants}
	for _, o := range n.Next {
		r.Next = append(r.Next, bot.Next{Label: o.Label, Request: o.Request})
	}
	if n.Member.Key != "" && len(a.coops(ctx, n.Member.Key)) > 1 {
		r.Title = strings.TrimSpace(n.Coop.Name + ": " + n.Title)
	}
	var pings []string
	for _, called := range n.Calls {
		pings = append(pings, called.Key)
	}
	sign, k := askSign, Kept{Coop: n.Coop.Key}
	if n.Member.Key != "" { // in direct messages a button has to say which co-op it is of
		sign, k.Who = coopSign, n.Member.Key
	}
	id, err := a.deliver(ctx, channel, sign, k, n.Key, r, pings)
	if err != nil {
		return "", a.untold(ctx, n, channel, err)
	}
	if n.Member.Key == "" && a.servers.Lack != nil {
		if err := a.servers.Lack(ctx, n.Coop.Key, 0); err != nil {
			a.wrong(ctx, "keeping which rights are lacking", err)
		}
	}
	return receipt(channel, id), nil
}

func receipt(channel, id string) scheduler.Receipt { return scheduler.Receipt(channel + "/" + id) }

// told looks for a notice among our own messages since the day it is of began anywhere.
func (a *Adapter) told(ctx context.Context, n scheduler.Notice) (scheduler.Receipt, bool, error) {
	channel, err := a.place(ctx, n)
	if err != nil {
		return "", false, err
	}
	const eastmost = 14 * time.Hour
	id, err := a.conn.Find(ctx, channel, n.Key, n.Day.UTC().Add(-eastmost))
	switch {
	case errors.Is(err, ErrUnknowable):
		return "", false, scheduler.ErrUnknowable
	case err != nil:
		return "", false, a.untold(ctx, n, channel, err)
	}
	return receipt(channel, id), id != "", nil
}

// place gives the channel of a notice. A member is asked for first: who left the server is told nothing more.
func (a *Adapter) place(ctx context.Context, n scheduler.Notice) (channel string, err error) {
	if a.servers.In != nil {
		in, err := a.servers.In(ctx, n.Coop.Key)
		if err != nil {
			return "", err
		}
		if !in {
			return "", removed(n)
		}
	}
	if n.Member.Key == "" {
		if n.Place == "" {
			return "", fault.New(fault.Missing, "The co-op has no channel for notices. /coop notices sets one.")
		}
		return n.Place, nil
	}
	there, err := a.conn.Present(ctx, n.Coop.Key, n.Member.Key)
	if errors.Is(err, ErrRemoved) {
		return "", removed(n)
	}
	if err != nil {
		return "", err
	}
	if !there {
		if a.homes.Away != nil {
			err = a.homes.Away(ctx, n.Coop.Key, n.Member.Key)
		}
		return "", errors.Join(scheduler.Unreachable(n.Member.Name+" has left the server."), err)
	}
	return a.conn.Direct(ctx, n.Member.Key)
}

func removed(n scheduler.Notice) error {
	return scheduler.Unreachable("We were removed from the server of " + n.Coop.Name + ".")
}

// untold makes of a refusal what the scheduler acts on, and tells the stewards where they can help.
func (a *Adapter) untold(ctx context.Context, n scheduler.Notice, channel string, cause error) error {
	switch {
	case errors.Is(cause, ErrClosed):
		var err error
		if a.homes.Closed != nil {
			err = a.homes.Closed(ctx, n.Coop.Key, n.Member.Key)
		}
		return errors.Join(scheduler.Unreachable(n.Member.Name+" takes no direct messages."), err)
	case n.Member.Key != "":
		return cause
	case errors.Is(cause, ErrGone):
		refusal := fault.New(fault.Missing, "The channel for notices is gone. Set another with /coop notices.").Because(cause)
		a.alarm(ctx, n, goneChannel, refusal.Text)
		return refusal
	case errors.Is(cause, ErrLacking):
		has, wanted, err := a.conn.Rights(ctx, channel)
		if err != nil {
			return err
		}
		lacking := wanted &^ has
		refusal := fault.New(fault.Barred, "In %s I lack the rights %s. Give them to my role in that channel's settings, or set another channel with /coop notices.",
			channel, strings.Join(lacking.Names(), ", ")).Because(cause)
		a.alarm(ctx, n, lacking, refusal.Text)
		return refusal
	}
	return cause
}

// goneChannel stands among the rights for a channel that is gone: it too is told once.
const goneChannel Right = 1 << 62

// alarm tells the stewards of a co-op what keeps notices from its group, once for each set of rights lacking.
func (a *Adapter) alarm(ctx context.Context, n scheduler.Notice, lacking Right, text string) {
	if a.servers.Lacking == nil || a.servers.Lack == nil {
		return
	}
	told, err := a.servers.Lacking(ctx, n.Coop.Key)
	if err != nil || Right(told) == lacking {
		return
	}
	people, err := a.stewards(ctx, n.Coop.Key)
	reached := 0
	for _, person := range people {
		key := fmt.Sprintf("lacking/%s/%d/%s", n.Coop.Key, lacking, n.Key)
		channel, err := a.conn.Direct(ctx, person)
		if err == nil {
			_, err = a.deliver(ctx, channel, coopSign, Kept{Coop: n.Coop.Key, Who: person}, key, bot.Reply{Title: n.Coop.Name + " cannot be told its notices", Text: text}, nil)
		}
		if err != nil {
			a.log.Warn("a steward could not be told which rights are lacking", "err", err)
			continue
		}
		reached++
	}
	if reached > 0 {
		err = a.servers.Lack(ctx, n.Coop.Key, int64(lacking))
	}
	if err != nil || reached == 0 {
		a.log.Error("no steward could be told what keeps notices from a co-op", "server", n.Coop.Key, "why", text, "err", err)
	}
}

// stewards gives who can set a server right: the stewards known, and its owner where there are none.
func (a *Adapter) stewards(ctx context.Context, server string) (people []string, err error) {
	var known []string
	if a.homes.Stewards != nil {
		if known, err = a.homes.Stewards(ctx, server); err != nil {
			return nil, err
		}
	}
	for _, person := range known {
		s, err := a.conn.standing(ctx, server, person)
		if err != nil {
			return nil, err
		}
		steward, err := a.steward(ctx, server, s.manages, s.roles)
		if err != nil {
			return nil, err
		}
		if s.there && steward {
			people = append(people, person)
		}
	}
	if len(people) > 0 {
		return people, nil
	}
	owner, err := a.conn.owner(ctx, server)
	return []string{owner}, err
}
