package main

import (
	"sync/atomic"
	"time"
)

// rehearsalClock is a clock that goes on from another instant than the real one, and that can be put forward.
type rehearsalClock struct {
	real  func() time.Time
	ahead atomic.Int64 // nanoseconds
	moved chan struct{}
}

func newRehearsalClock(real func() time.Time, ahead time.Duration) *rehearsalClock {
	c := &rehearsalClock{real: real, moved: make(chan struct{}, 1)}
	c.ahead.Store(int64(ahead))
	return c
}

// Now gives the time of the rehearsal.
func (c *rehearsalClock) Now() time.Time { return c.real().Add(time.Duration(c.ahead.Load())) }

// Pass puts the clock forward.
func (c *rehearsalClock) Pass(d time.Duration) {
	c.ahead.Add(int64(d))
	select {
	case c.moved <- struct{}{}:
	default: // it is told already
	}
}
