package discord

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"sync"
	"time"

	"shortday/bot"
)

// Servers keeps which servers we are in. With a zero Servers none is greeted.
type Servers struct {
	// Arrive keeps that we are in a server, for the first time or again. It gives since when it is known and whether it was
	// greeted.
	Arrive func(ctx context.Context, server, name string) (since time.Time, greeted bool, err error)
	// Greeted keeps that it was greeted, Removed that we are no longer in it.
	Greeted, Removed func(ctx context.Context, server string) error
	// There gives the servers that we are in as far as is known.
	There func(ctx context.Context) ([]string, error)
	// In tells whether we are in one.
	In func(ctx context.Context, server string) (bool, error)
	// Lacking gives the rights that the stewards of one were told we lack, and Lack keeps that they were.
	Lacking func(ctx context.Context, server string) (int64, error)
	Lack    func(ctx context.Context, server string, rights int64) error
	// Greeting is what a new server is told.
	Greeting func(name string) bot.Reply
}

// comings are what the links tell of servers, in order, to be worked through by one goroutine: links must not block.
type comings struct {
	mu   sync.Mutex
	list []func(context.Context) error
	more chan struct{}
}

func (c *comings) add(do func(context.Context) error) {
	c.mu.Lock()
	c.list = append(c.list, do)
	c.mu.Unlock()
	select {
	case c.more <- struct{}{}:
	default:
	}
}

func (c *comings) next() func(context.Context) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.list) == 0 {
		return nil
	}
	first := c.list[0]
	c.list = c.list[1:]
	return first
}

// attend works through what comes until the context ends.
func (a *Adapter) attend(ctx context.Context) {
	for {
		for do := a.comings.next(); do != nil && ctx.Err() == nil; do = a.comings.next() {
			if err := do(ctx); err != nil && ctx.Err() == nil {
				a.log.Error("keeping which servers we are in", "err", err)
			}
		}
		select {
		case <-a.comings.more:
		case <-ctx.Done():
			return
		}
	}
}

// watch gives the events with what the adapter does at each.
func (a *Adapter) watch(events Events) Events {
	linked, joined, left := events.Linked, events.Joined, events.Left
	events.Linked = func(shard, shards int, servers []string) {
		if a.servers.There != nil && a.servers.Removed != nil {
			a.comings.add(func(ctx context.Context) error { return a.missed(ctx, shard, shards, servers) })
		}
		if linked != nil {
			linked(shard, shards, servers)
		}
	}
	events.Joined = func(server, name string) {
		a.mu.Lock()
		a.names[server] = name
		a.mu.Unlock()
		if a.servers.Arrive != nil {
			a.comings.add(func(ctx context.Context) error { return a.arrive(ctx, server, name) })
		}
		if joined != nil {
			joined(server, name)
		}
	}
	events.Left = func(server string) {
		a.mu.Lock()
		delete(a.names, server)
		a.mu.Unlock()
		if a.servers.Removed != nil {
			a.comings.add(func(ctx context.Context) error { return a.servers.Removed(ctx, server) })
		}
		if left != nil {
			left(server)
		}
	}
	return events
}

// missed keeps which servers of a link removed us while it was down. One that is only unavailable is among its servers.
func (a *Adapter) missed(ctx context.Context, shard, shards int, servers []string) error {
	known, err := a.servers.There(ctx)
	if err != nil {
		return err
	}
	for _, server := range known {
		if shardOf(server, shards) == shard && !slices.Contains(servers, server) {
			if err := a.servers.Removed(ctx, server); err != nil {
				return err
			}
			a.log.Info("a server removed us while we were away", "server", server)
		}
	}
	return nil
}

// shardOf gives the link that a server belongs to, as the platform's documentation does, "Sharding".
func shardOf(server string, shards int) int {
	id, err := strconv.ParseUint(server, 10, 64)
	if err != nil || shards < 1 {
		return -1
	}
	return int(id >> 22 % uint64(shards))
}

// arrive keeps that we are in a server, and greets one that was never greeted.
func (a *Adapter) arrive(ctx context.Context, server, name string) error {
	since, greeted, err := a.servers.Arrive(ctx, server, name)
	if err != nil || greeted || a.servers.Greeting == nil {
		return err
	}
	channel, err := a.conn.Writable(ctx, server)
	if err != nil {
		return err
	}
	if channel == "" {
		a.log.Warn("a server has no channel that we may write in, so it is greeted another time", "server", server)
		return nil
	}
	key := "greeting/" + server
	found, err := a.conn.Find(ctx, channel, key, since.Add(-time.Minute)) // an earlier try may have arrived
	if err != nil && !errors.Is(err, ErrUnknowable) {
		return err
	}
	if found == "" {
		if _, err := a.Deliver(ctx, channel, server, key, a.servers.Greeting(name)); err != nil {
			return err
		}
	}
	return a.servers.Greeted(ctx, server)
}
