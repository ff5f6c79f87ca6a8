package main

import (
	"context"
	"errors"
	"strconv"
	"time"

	"golang.org/x/sync/errgroup"

	"shortday/bot/discord"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

// serve answers in Discord.
type serve struct {
	account
	striking
	feed
	rehearsal
	Shards int `placeholder:"NUMBER" help:"How many connections to open. Without it $$SHORTDAY_SHARDS, else as many as Discord advises."`
}

// Run serves until the context ends, or until Discord will not have it.
func (s *serve) Run(p *program) (err error) {
	opts := s.options(p)
	if opts.Shards, err = s.shards(p); err != nil {
		return err
	}
	if !p.At.IsZero() && !s.Pretend {
		return fault.New(fault.Unclear, "Discord goes by the real clock. Leave --at away to serve, or add --pretend to rehearse another day.")
	}
	end, err := s.begin(p, &opts)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, end()) }()
	return p.serve(opts, s.striking, s.feed)
}

func (s *serve) shards(p *program) (int, error) {
	if s.Shards < 0 {
		return 0, fault.New(fault.Unclear, "--shards takes a number from 1 on. Leave it away for as many connections as Discord advises.")
	}
	if s.Shards != 0 || p.getenv("SHORTDAY_SHARDS") == "" {
		return s.Shards, nil
	}
	n, err := strconv.Atoi(p.getenv("SHORTDAY_SHARDS"))
	if err != nil || n < 1 {
		return 0, fault.New(fault.Unclear, "SHORTDAY_SHARDS is %q, and takes a number from 1 on. Leave it unset for as many connections as Discord advises.", p.getenv("SHORTDAY_SHARDS"))
	}
	return n, nil
}

// serve opens the register and answers there: also for a stand-in that runs in the same process.
func (p *program) serve(opts discord.Options, strikes striking, calendars feed) (err error) {
	reg, desk, err := p.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	h := &house{reg: reg, now: p.now}
	opts.Identifies = h.identifies()
	conn, err := discord.New(opts)
	if err != nil {
		return err
	}
	adapter := discord.NewAdapter(conn, desk, h.requests(), h.homes(), h.servers())
	stop, err := strikes.strike(p, scheduler.Config{Register: reg, Adapter: register.Discord, Platform: adapter.Platform()})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, stop()) }()
	group, ctx := errgroup.WithContext(p.Context)
	group.Go(func() error { return adapter.Serve(ctx, discord.Events{}) })
	group.Go(func() error { return p.forget(ctx, reg) })
	group.Go(func() error { return calendars.run(ctx, p, reg) })
	return group.Wait()
}

// forgetEvery is how often it is looked whether something has been kept long enough.
const forgetEvery = time.Hour

// forget removes what has been kept long enough, now and then.
func (p *program) forget(ctx context.Context, reg *register.Register) error {
	ticks := time.NewTicker(forgetEvery)
	defer ticks.Stop()
	for {
		gone, err := reg.Forget(ctx, p.now())
		if err != nil && ctx.Err() == nil {
			p.log.Error("forgetting what was kept long enough", "err", err)
		}
		for _, server := range gone {
			p.log.Info("the register of a co-op that removed us is gone", "server", server.Key, "name", server.Name)
		}
		select {
		case <-ticks.C:
		case <-ctx.Done():
			return nil
		}
	}
}
