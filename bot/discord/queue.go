package discord

import (
	"context"
	"fmt"
	"log/slog"
	"runtime/debug"
	"sync"
	"time"
)

// How many questions are answered at once, and how many may wait.
const (
	workers = 16
	room    = 512
)

// queue works through what people ask: each person's in order, different people's side by side.
type queue struct {
	log *slog.Logger

	mu      sync.Mutex
	waiting map[string][]func(context.Context, int) // by person; a key stays while one of theirs is worked on
	count   int
	ready   chan string // people with something to do whom no worker serves yet
}

func newQueue(log *slog.Logger) *queue {
	return &queue{log: log, waiting: map[string][]func(context.Context, int){}, ready: make(chan string, room)}
}

// add queues a job of a person and tells whether there was room. The job is told its worker's number.
func (q *queue) add(person string, job func(ctx context.Context, worker int)) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.count == room {
		return false
	}
	q.count++
	jobs, busy := q.waiting[person]
	q.waiting[person] = append(jobs, job)
	if !busy {
		q.ready <- person // never blocks: fewer people than room
	}
	return true
}

// parting is how long what is being answered may still take once we are told to end.
const parting = 3 * time.Second

// run works until the context ends. Jobs being worked on are waited for, and have a while to come to their end.
func (q *queue) run(ctx context.Context) {
	working, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	defer context.AfterFunc(ctx, func() { time.AfterFunc(parting, stop) })()
	var all sync.WaitGroup
	for n := range workers {
		all.Go(func() { q.work(ctx, working, n) })
	}
	all.Wait()
}

// work takes jobs until the first context ends; each works in the second.
func (q *queue) work(ctx, working context.Context, worker int) {
	for {
		select {
		case person := <-q.ready:
			q.serve(working, worker, person)
		case <-ctx.Done():
			return
		}
	}
}

// serve does one job of the person and puts them back in line if there are more.
func (q *queue) serve(ctx context.Context, worker int, person string) {
	q.mu.Lock()
	job := q.waiting[person][0]
	q.mu.Unlock()
	q.try(ctx, worker, job)
	q.mu.Lock()
	defer q.mu.Unlock()
	q.count--
	if q.waiting[person] = q.waiting[person][1:]; len(q.waiting[person]) == 0 {
		delete(q.waiting, person)
		return
	}
	q.ready <- person
}

func (q *queue) try(ctx context.Context, worker int, job func(context.Context, int)) {
	defer func() {
		if p := recover(); p != nil {
			q.log.Error("a panic while answering", "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
		}
	}()
	job(ctx, worker)
}
