package discord

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/bwmarrin/discordgo"
	"golang.org/x/sync/errgroup"
)

// The back-off of connecting: from the start of one attempt to the start of the next.
const (
	firstPause   = time.Second
	longestPause = 8 * time.Second
	settled      = 30 * time.Second // a link that held so long starts afresh
)

// keepLinks keeps every link open until the context ends, or until Discord says that it is no use.
func (c *Connection) keepLinks(ctx context.Context) error {
	shards, err := c.advice(ctx)
	if err != nil {
		return err
	}
	group, ctx := errgroup.WithContext(ctx)
	for shard := range shards {
		group.Go(func() error { return c.keepLink(ctx, shard, shards) })
	}
	return group.Wait()
}

// advice asks how many links to open and how many IDENTIFYs are left, until it is told.
func (c *Connection) advice(ctx context.Context) (shards int, err error) {
	for n := 0; ; n++ {
		started := c.opts.Now()
		advised, err := get[discordgo.GatewayBotResponse](ctx, c, discordgo.EndpointGatewayBot)
		if err == nil {
			start := advised.SessionStartLimit
			c.budget.load(ctx, start.Total, start.Total-start.Remaining)
			return max(1, cmp.Or(c.opts.Shards, advised.Shards)), nil
		}
		if refusal, ok := errors.AsType[*Refusal](err); ok && final(refusal.Status) != nil {
			return 0, final(refusal.Status)
		}
		c.log.Warn("Discord cannot be reached", "err", err)
		if err := sleep(ctx, started.Add(pause(n)).Sub(c.opts.Now())); err != nil {
			return 0, err
		}
	}
}

// keepLink opens one link again and again.
func (c *Connection) keepLink(ctx context.Context, shard, shards int) error {
	failed, refused := 0, 0
	for {
		started := c.opts.Now()
		err := c.link(ctx, shard, shards)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if code, ok := errors.AsType[closedError](err); ok && final(int(code)) != nil {
			return final(int(code))
		}
		c.log.Warn("the link to Discord was lost", "shard", shard, "err", clean(err))
		if c.opts.Now().Sub(started) > settled {
			failed, refused = 0, 0
		}
		wait := pause(failed)
		failed++
		if errors.Is(err, errRefused) {
			wait = min(longestPause<<min(refused, 10), max(c.budget.slowest(shards), longestPause))
			refused++
		}
		if err := sleep(ctx, started.Add(wait).Sub(c.opts.Now())); err != nil {
			return err
		}
	}
}

// pause gives the time between the starts of attempts, a little less by chance so that links do not march in step.
func pause(failed int) time.Duration {
	d := min(firstPause<<min(failed, 10), longestPause)
	return d - rand.N(d/4)
}

// link opens a link and stays until it is lost; the error says why.
func (c *Connection) link(ctx context.Context, shard, shards int) error {
	release, err := c.budget.wait(ctx)
	if err != nil {
		return err
	}
	l := newLine(c.opts.Now, func() { c.budget.count(ctx) }, c.budget.said, func(p packet) { c.dispatch(shard, shards, p) })
	err = c.open(ctx, l, shard, shards)
	release()
	if err != nil {
		return err
	}
	c.log.Info("linked to Discord", "shard", shard, "of", shards)
	select {
	case <-l.down:
		return l.cause
	case <-ctx.Done():
		l.lose(ctx.Err())
		return ctx.Err()
	}
}

// open makes a fresh Session and waits for READY. The Session is left to itself past the time limit: its connection is
// closed under it, so that it ends.
func (c *Connection) open(ctx context.Context, l *line, shard, shards int) error {
	s, err := l.session(c, shard, shards)
	if err != nil {
		return err
	}
	opened := make(chan error, 1)
	go func() {
		defer func() {
			if p := recover(); p != nil {
				opened <- fmt.Errorf("the library panicked: %v", p)
			}
		}()
		opened <- s.Open()
	}()
	limit := time.NewTimer(3 * openLimit)
	defer limit.Stop()
	for {
		select {
		case err := <-opened:
			if err != nil {
				l.lose(err)
				return l.cause
			}
			opened = nil
		case <-l.ready:
			return nil
		case <-l.down:
			return l.cause
		case <-limit.C:
			l.lose(errors.New("opening the link took too long"))
		case <-ctx.Done():
			l.lose(ctx.Err())
		}
	}
}
