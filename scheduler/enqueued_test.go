package scheduler

import (
	"context"

	"shortday/knowledge/calendar"
)

// StartEnqueuing starts as Start does, and leaves what is enqueued in the queue.
func StartEnqueuing(ctx context.Context, c Config) (*Striking, error) {
	s, err := prepare(ctx, c)
	if err != nil {
		return nil, err
	}
	s.begin(context.WithCancel(context.WithoutCancel(ctx)))
	return s, nil
}

// Enqueued is an errand in the queue.
type Enqueued struct {
	Coop, Member int64
	Kind         Kind
	Day          calendar.Day
}

// Enqueued gives all that is in the queue, done or not.
func (s *Striking) Enqueued(ctx context.Context) (all []Enqueued, err error) {
	errands, err := s.queue.errands(ctx, "SELECT json(args) FROM river_job ORDER BY id")
	for _, e := range errands {
		all = append(all, Enqueued{e.Coop, e.Member, e.About, e.Day})
	}
	return all, err
}
