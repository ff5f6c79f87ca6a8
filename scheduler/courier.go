package scheduler

import (
	"context"
	"encoding/json"
	"errors"
	"sync"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"
)

// courier takes errands from the queue to the teller.
type courier struct {
	river.WorkerDefaults[errand]
	teller *teller
	busy   sync.Map // with the keys of errands that are under way
}

// Work tells one errand.
func (c *courier) Work(ctx context.Context, job *river.Job[errand]) error {
	c.busy.Store(job.Args.Key, true)
	defer c.busy.Delete(job.Args.Key)
	err := c.teller.tell(ctx, job.Args)
	if later, ok := errors.AsType[wait](err); ok {
		return river.JobSnooze(time.Duration(later))
	}
	return err
}

func (c *courier) underWay(key string) bool {
	_, busy := c.busy.Load(key)
	return busy
}

// backOff says when an errand is tried again: after one second, two, four and so on, but at least every five minutes on
// its day, and every hour after that.
type backOff struct{ now func() time.Time }

const (
	longestOnDay = 5 * time.Minute
	longestAfter = time.Hour
)

// NextRetry gives the instant of the next attempt.
func (b backOff) NextRetry(job *rivertype.JobRow) time.Time {
	now, most := b.now(), longestAfter
	var e errand
	if err := json.Unmarshal(job.EncodedArgs, &e); err != nil || now.Sub(e.Due) < 24*time.Hour {
		most = longestOnDay
	}
	after := most
	if failures := len(job.Errors); failures < 12 {
		after = min(time.Second<<failures, most)
	}
	return now.Add(after)
}
