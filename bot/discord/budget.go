package discord

import (
	"context"
	"log/slog"
	"sync"
	"time"
)

// Tally counts the IDENTIFYs since an instant, at most a day ago, and tells when the last one was.
type Tally struct {
	Since, Last time.Time
	Count       int
}

// Identifies keeps the tally of IDENTIFYs across restarts.
type Identifies struct {
	Load func(ctx context.Context) (Tally, error)
	Save func(ctx context.Context, t Tally) error
}

// identifyGap keeps IDENTIFYs apart: the platform wants 5 s, we leave it some air.
const identifyGap = 5*time.Second + 200*time.Millisecond

// budget holds the IDENTIFYs to what Discord allows: so many a day, one in five seconds.
type budget struct {
	now  func() time.Time
	log  *slog.Logger
	keep Identifies
	turn chan struct{} // held by whoever is about to identify

	mu    sync.Mutex
	total int // a day
	tally Tally
}

func newBudget(now func() time.Time, log *slog.Logger, keep Identifies) *budget {
	return &budget{now: now, log: log, keep: keep, turn: make(chan struct{}, 1), total: 1000}
}

// load takes up the tally kept, and what Discord says: its total and how many it knows to be used.
func (b *budget) load(ctx context.Context, total, used int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if total > 0 {
		b.total = total
	}
	if b.keep.Load != nil && b.tally.Since.IsZero() {
		kept, err := b.keep.Load(ctx)
		if err != nil {
			b.log.Error("reading the tally of identifications", "err", err)
		}
		b.tally = kept
		if now := b.now(); !kept.Last.IsZero() {
			b.tally.Last = kept.Last.Add(time.Second) // it is kept to the second
			if b.tally.Last.After(now) {
				b.tally.Last = now
			}
		}
	}
	b.renew()
	b.tally.Count = max(b.tally.Count, used)
}

func (b *budget) renew() {
	if now := b.now(); now.Sub(b.tally.Since) >= 24*time.Hour {
		b.tally = Tally{Since: now, Last: b.tally.Last}
	}
}

// wait blocks until the next IDENTIFY may be sent and gives what ends the turn.
func (b *budget) wait(ctx context.Context) (release func(), err error) {
	select {
	case b.turn <- struct{}{}:
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	release = func() { <-b.turn }
	if err := sleep(ctx, b.pause()); err != nil {
		release()
		return nil, err
	}
	return release, nil
}

// pause gives how long to wait: the gap at least, and once half the day's budget is gone the rest is spread over the day.
func (b *budget) pause() time.Duration {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.renew()
	now, until := b.now(), b.tally.Last.Add(identifyGap)
	if left := b.total - b.tally.Count; left <= b.total/2 {
		over := b.tally.Since.Add(24 * time.Hour).Sub(now)
		if spread := now.Add(over / time.Duration(max(left, 1))); spread.After(until) {
			until = spread
			b.log.Warn("many identifications today: the rest is spread over the day", "left", left, "next", until)
		}
	}
	return until.Sub(now)
}

// said keeps when an IDENTIFY was really sent: a busy machine takes its time over it.
func (b *budget) said() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.tally.Last = b.now()
}

// count counts one IDENTIFY as sent and keeps the tally.
func (b *budget) count(ctx context.Context) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.renew()
	b.tally.Last = b.now()
	b.tally.Count++
	if b.keep.Save == nil {
		return
	}
	if err := b.keep.Save(ctx, b.tally); err != nil {
		b.log.Error("keeping the tally of identifications", "err", err)
	}
}

// slowest gives the longest pause between refused IDENTIFYs: a whole day of them takes half the budget.
func (b *budget) slowest(shards int) time.Duration {
	b.mu.Lock()
	defer b.mu.Unlock()
	return 24 * time.Hour * time.Duration(shards) / time.Duration(max(b.total/2, 1))
}
