package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"sync"

	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
	"shortday/bot/discord/discordtest/page"
	"shortday/knowledge/fault"
)

// rehearsal is serving a pretended Discord, to be tried out on a page of this machine.
type rehearsal struct {
	Pretend bool   `help:"Rehearse: pretend a Discord server, and open a page on this machine where you speak as several members. No token is needed and nothing reaches Discord. The register is a new one that is gone in the end, unless --db names one; never name one that is served, for what is told here counts as told."`
	Page    string `placeholder:"ADDRESS" help:"Where --pretend opens its page on this machine, such as 127.0.0.1:8472. Without it any free one."`
}

// Where a pretended server begins.
const (
	rehearsalTalk    = "general"
	rehearsalNotices = "notices"
)

// begin makes the pretended Discord, if one is wanted, and lets the program serve that. What it gives ends it.
func (r rehearsal) begin(p *program, opts *discord.Options) (end func() error, err error) {
	if !r.Pretend {
		if r.Page != "" {
			return nil, fault.New(fault.Unclear, "--page says where the page of a rehearsal is opened, and there is one only with --pretend. Give both, or leave --page away.")
		}
		return func() error { return nil }, nil
	}
	var ends []func() error
	undo := func() error {
		var errs []error
		for i := range ends {
			errs = append(errs, ends[len(ends)-1-i]())
		}
		return errors.Join(errs...)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, undo())
		}
	}()
	kept, err := r.register(p, &ends)
	if err != nil {
		return nil, err
	}
	real := p.now
	clock, err := r.clock(p, kept)
	if err != nil {
		return nil, err
	}
	p.now, p.moved, p.At = clock.Now, clock.moved, moment{}
	service, err := discordtest.Start(discordtest.Options{Now: real, Dated: clock.Now, Violation: func(err error) { p.log.Warn("Discord would refuse this", "err", err) }})
	if err != nil {
		return nil, err
	}
	ends = append(ends, func() error { service.Close(); return nil })
	if err := people(p, service, kept); err != nil {
		return nil, err
	}
	at, shut, err := r.open(p, page.New(service, clock))
	if err != nil {
		return nil, err
	}
	ends = append(ends, shut)
	opts.Token, opts.URL, opts.Shards = discordtest.Token, service.URL(), 1
	where := "It has a register of its own, which is gone when this ends."
	if kept {
		where = "It is kept in " + p.DB + "."
	}
	_, err = fmt.Fprintf(p.stdout, "The rehearsal is open at http://%s/ for a browser on this machine. %s Ctrl-C ends it.\n", at, where)
	return undo, err
}

// open opens the page, and gives what shuts it.
func (r rehearsal) open(p *program, shown *page.Page) (at net.Addr, shut func() error, err error) {
	listener, err := page.Listen(p, cmp.Or(r.Page, "127.0.0.1:0"))
	if err != nil {
		return nil, nil, err
	}
	ctx, stop := context.WithCancel(p)
	var serving sync.WaitGroup
	var failed error
	serving.Go(func() { failed = shown.Serve(ctx, listener) })
	return listener.Addr(), func() error {
		stop()
		serving.Wait()
		return failed
	}, nil
}

// register settles which register is used: the one that --db names, and never the one of the environment.
func (r rehearsal) register(p *program, ends *[]func() error) (kept bool, err error) {
	if p.DB != "" {
		return true, nil
	}
	dir, err := os.MkdirTemp("", "shortday-rehearsal-")
	if err != nil {
		return false, fmt.Errorf("making a folder for the rehearsal: %w", err)
	}
	*ends = append(*ends, func() error { return os.RemoveAll(dir) })
	p.DB = filepath.Join(dir, "shortday.db")
	return false, nil
}

// clock gives the clock of a rehearsal: it begins where --at says, else now, and one that goes on begins no earlier than
// what was done in it last.
func (r rehearsal) clock(p *program, kept bool) (*rehearsalClock, error) {
	begin, now := p.At.Time, p.now()
	if begin.IsZero() {
		begin = now
	}
	if kept {
		reg, err := p.register(p.DB)
		if err != nil {
			return nil, err
		}
		last, err := reg.LastInstant(p)
		if err := errors.Join(err, reg.Close()); err != nil {
			return nil, err
		}
		if last.After(begin) && !p.At.IsZero() {
			return nil, fault.New(fault.Unclear, "The rehearsal kept in %s has come to %s. Give --at a later time, or leave it away to go on from there.", p.DB, last.UTC().Format("2006-01-02T15:04Z"))
		}
		if last.After(begin) {
			begin = last
		}
	}
	return newRehearsalClock(p.now, begin.Sub(now)), nil
}

// people fills the pretended Discord: with the servers and members of a rehearsal that goes on, else with a few new ones.
func people(p *program, service *discordtest.Service, kept bool) error {
	if kept {
		known, err := again(p, service)
		if err != nil || known {
			return err
		}
	}
	g := service.Settle("", p.Coop, rehearsalTalk, rehearsalNotices)
	g.AddMember("Orla", discordtest.ManageServer)
	g.AddMember("Tam", 0)
	g.AddMember("Ines", 0)
	return nil
}

// again brings back the servers that the register knows, with those members who did something there.
func again(p *program, service *discordtest.Service) (known bool, err error) {
	reg, err := p.register(p.DB)
	if err != nil {
		return false, err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	servers, err := reg.Servers(p)
	if err != nil {
		return false, err
	}
	for _, server := range servers {
		g := service.Settle(server.Key, server.Name, rehearsalTalk, rehearsalNotices)
		seat, err := reg.Find(p, server.Key, "")
		if err != nil {
			return false, err
		}
		members, err := reg.Members(p, seat.Coop.ID)
		if err != nil {
			return false, err
		}
		for _, m := range members {
			var rights discordtest.Right
			if m.Steward {
				rights = discordtest.ManageServer
			}
			g.Return(m.Key, m.Name, rights)
		}
		if len(members) == 0 {
			g.AddMember("Orla", discordtest.ManageServer)
		}
	}
	return len(servers) > 0, nil
}
