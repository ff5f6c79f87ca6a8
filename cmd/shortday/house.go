package main

import (
	"context"
	"slices"
	"time"

	"shortday/bot"
	"shortday/bot/discord"
	"shortday/bot/requests"
	"shortday/knowledge/register"
)

// house keeps in the register what the adapter to Discord has to know over a restart.
type house struct {
	reg *register.Register
	now func() time.Time
}

func (h *house) identifies() discord.Identifies {
	return discord.Identifies{
		Load: func(ctx context.Context) (discord.Tally, error) {
			kept, err := h.reg.Identifies(ctx)
			return discord.Tally(kept), err
		},
		Save: func(ctx context.Context, t discord.Tally) error {
			return h.reg.KeepIdentifies(ctx, register.Identifies(t))
		},
	}
}

func (h *house) requests() discord.Requests {
	return discord.Requests{
		Keep: func(ctx context.Context, k discord.Kept) (string, error) {
			return h.reg.KeepRequest(ctx, register.Kept{Key: discord.NewKey(), Coop: k.Coop, Who: k.Who, Request: k.Request, At: h.now()})
		},
		Kept: func(ctx context.Context, key string) (discord.Kept, bool, error) {
			k, found, err := h.reg.KeptRequest(ctx, key, h.now())
			return discord.Kept{Request: k.Request, Coop: k.Coop, Who: k.Who}, found, err
		},
	}
}

func (h *house) servers() discord.Servers {
	return discord.Servers{
		Arrive: func(ctx context.Context, server, name string) (time.Time, bool, error) {
			s, err := h.reg.Arrive(ctx, server, name, h.now())
			return s.Seen, !s.Greeted.IsZero(), err
		},
		Greeted: func(ctx context.Context, server string) error { return h.reg.Greeted(ctx, server, h.now()) },
		Removed: func(ctx context.Context, server string) error { return h.reg.Removed(ctx, server, h.now()) },
		There: func(ctx context.Context) (keys []string, err error) {
			all, err := h.reg.Servers(ctx)
			for _, s := range all {
				keys = append(keys, s.Key)
			}
			return keys, err
		},
		In: func(ctx context.Context, server string) (bool, error) {
			s, err := h.reg.Server(ctx, server)
			return s.Key != "" && s.Gone.IsZero(), err
		},
		Lacking: func(ctx context.Context, server string) (int64, error) {
			s, err := h.reg.Server(ctx, server)
			return s.Lacking, err
		},
		Lack: func(ctx context.Context, server string, rights int64) error {
			return h.reg.Lacking(ctx, server, rights, h.now())
		},
		Greeting: requests.Greeting,
	}
}

func (h *house) homes() discord.Homes {
	return discord.Homes{
		Now: h.now,
		Coops: func(ctx context.Context, person string) (coops []bot.Party, err error) {
			homes, err := h.reg.Homes(ctx, person)
			for _, home := range homes {
				coops = append(coops, bot.Party{Key: home.Key, Name: home.Name})
			}
			return coops, err
		},
		Steward:   h.steward,
		Reach:     h.reach,
		Closed:    h.mark((*register.Register).Closed),
		Away:      h.mark((*register.Register).Away),
		Reached:   h.mark(resume),
		Concerned: h.concerned,
		Stewards:  h.stewards,
	}
}

// reach tells whether a member took no direct message; whoever had left the server and asks is there again.
func (h *house) reach(ctx context.Context, coop, person string) (closed bool, err error) {
	member, reach, err := h.reg.Unreached(ctx, coop, person)
	if err == nil && !reach.Away.IsZero() {
		err = resume(h.reg, ctx, member, h.now())
	}
	return !reach.Closed.IsZero(), err
}

// steward tells whether one of the roles is the one that the co-op named for its stewards.
func (h *house) steward(ctx context.Context, coop string, roles []string) (is bool, err error) {
	err = h.reg.Look(ctx, func(ctx context.Context) error {
		seat, err := h.reg.Find(ctx, coop, "")
		if err != nil || seat.Coop.ID == 0 {
			return err
		}
		set, err := h.reg.Notices(ctx, seat.Coop.ID)
		is = set.StewardsRole != "" && slices.Contains(roles, set.StewardsRole)
		return err
	})
	return is, err
}

func (h *house) stewards(ctx context.Context, coop string) (keys []string, err error) {
	seat, err := h.reg.Find(ctx, coop, "")
	if err != nil || seat.Coop.ID == 0 {
		return nil, err
	}
	members, err := h.reg.Members(ctx, seat.Coop.ID)
	for _, m := range members {
		if m.Steward {
			keys = append(keys, m.Key)
		}
	}
	return keys, err
}

// concerned gives whom a swap that is to be proposed or agreed may touch.
func (h *house) concerned(ctx context.Context, ask bot.Ask) ([]string, error) {
	if ask.Request != "/swap match" && ask.Request != "/swap agree" {
		return nil, nil
	}
	seat, err := h.reg.Find(ctx, ask.Coop.Key, "")
	if err != nil || seat.Coop.ID == 0 {
		return nil, err
	}
	return h.reg.Traders(ctx, seat.Coop.ID)
}

// resume lets a member be told things again, and their reminders go on.
func resume(reg *register.Register, ctx context.Context, member int64, at time.Time) error {
	return reg.Together(ctx, func(ctx context.Context) error {
		if err := reg.Reached(ctx, member, at); err != nil {
			return err
		}
		return reg.PauseReminders(ctx, member, "", at)
	})
}

// mark does something with a member of a co-op; who is no member is passed over.
func (h *house) mark(do func(*register.Register, context.Context, int64, time.Time) error) func(context.Context, string, string) error {
	return func(ctx context.Context, coop, person string) error {
		seat, err := h.reg.Find(ctx, coop, person)
		if err != nil || seat.Zero() {
			return err
		}
		return do(h.reg, ctx, seat.Member.ID, h.now())
	}
}
