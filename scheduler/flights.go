package scheduler

import (
	"context"
	"errors"
	"sync"
	"time"
)

// flights are the notices handed to a platform and not received back for good. A platform that hangs keeps its own
// notice from going a second time, and nothing else.
type flights struct {
	mu  sync.Mutex
	all map[string]*flight // by key
}

type flight struct {
	landed  chan struct{}
	receipt Receipt
	err     error
}

const longestFlight = 30 * time.Second

var errHangs = errors.New("the platform has not answered yet")

// fly hands a notice over and waits for its receipt, for a bounded time. One that is under way already is waited for
// instead, and one that landed since is not sent again.
func (f *flights) fly(ctx context.Context, n Notice, deliver func(context.Context, Notice) (Receipt, error)) (Receipt, error) {
	ctx, cancel := context.WithTimeout(ctx, longestFlight)
	f.mu.Lock()
	going := f.all[n.Key]
	if going == nil {
		going = &flight{landed: make(chan struct{})}
		if f.all == nil {
			f.all = map[string]*flight{}
		}
		f.all[n.Key] = going
		go func() {
			defer cancel()
			going.receipt, going.err = deliver(ctx, n)
			if going.err != nil { // the next attempt starts anew
				f.forget(n.Key)
			}
			close(going.landed)
		}()
	} else {
		defer cancel()
	}
	f.mu.Unlock()
	select {
	case <-going.landed:
		return going.receipt, going.err
	case <-ctx.Done():
		return "", errors.Join(errHangs, ctx.Err())
	}
}

// forget lets go of a notice whose receipt is kept.
func (f *flights) forget(key string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	delete(f.all, key)
}
