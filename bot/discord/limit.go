package discord

import (
	"context"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"
)

// limits are the platform's limits as its headers told them: of the whole bot, and of each bucket of routes.
// The zero value knows of none.
type limits struct {
	mu      sync.Mutex
	all     time.Time          // nothing goes before
	shared  map[string]string  // route → the bucket it turned out to share
	buckets map[string]*bucket // by route or shared bucket
}

type bucket struct {
	limit, left int
	reset       time.Time
}

// mostBuckets bounds the table; those whose time has passed are dropped beyond it.
const mostBuckets = 1000

var id = regexp.MustCompile(`\d{15,20}`)

// bucketKey names the route of a request. Its major part, the channel or server, counts; lesser ids do not.
func bucketKey(r *http.Request) string {
	parts := strings.Split(strings.TrimPrefix(r.URL.Path, "/api/"), "/")
	for i, part := range parts {
		major := i == 2 && (parts[1] == "channels" || parts[1] == "guilds")
		if !major {
			parts[i] = id.ReplaceAllString(part, "*")
		}
	}
	return r.Method + " " + strings.Join(parts, "/")
}

// wait blocks until the bucket has room, and takes it.
func (l *limits) wait(ctx context.Context, route string, now func() time.Time) error {
	for {
		d := l.take(route, now())
		if d <= 0 {
			return ctx.Err()
		}
		if deadline, has := ctx.Deadline(); has && now().Add(d).After(deadline) {
			return &Refusal{Status: http.StatusTooManyRequests, Text: "the limit of this route is used up", After: d}
		}
		if err := sleep(ctx, d); err != nil {
			return err
		}
	}
}

// take uses one request of the bucket, or tells how long to wait for one.
func (l *limits) take(route string, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	if d := l.all.Sub(now); d > 0 {
		return d
	}
	b := l.buckets[l.key(route)]
	if b == nil {
		return 0
	}
	if !now.Before(b.reset) {
		b.left = b.limit
	}
	if b.left <= 0 {
		if d := b.reset.Sub(now); d > 0 {
			return d
		}
		return 0
	}
	b.left--
	return 0
}

func (l *limits) key(route string) string {
	if shared, found := l.shared[route]; found {
		return shared
	}
	return route
}

// note learns from the headers of an answer.
func (l *limits) note(route string, h http.Header, now time.Time) {
	limit, err1 := strconv.Atoi(h.Get("X-RateLimit-Limit"))
	left, err2 := strconv.Atoi(h.Get("X-RateLimit-Remaining"))
	after, err3 := strconv.ParseFloat(h.Get("X-RateLimit-Reset-After"), 64)
	if err1 != nil || err2 != nil || err3 != nil {
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.prune(now)
	if name := h.Get("X-RateLimit-Bucket"); name != "" {
		l.shared[route] = name + " " + major(route)
	}
	l.buckets[l.key(route)] = &bucket{limit, left, now.Add(time.Duration(after * float64(time.Second)))}
}

// major is the channel or server of a route, which a shared bucket is shared within.
func major(route string) string { return id.FindString(route) }

func (l *limits) prune(now time.Time) {
	if l.buckets == nil {
		l.buckets, l.shared = map[string]*bucket{}, map[string]string{}
	}
	if len(l.buckets) < mostBuckets {
		return
	}
	for route := range l.shared {
		if b := l.buckets[l.shared[route]]; b == nil || now.After(b.reset) {
			delete(l.shared, route)
		}
	}
	for key, b := range l.buckets {
		if now.After(b.reset) {
			delete(l.buckets, key)
		}
	}
}

// stopAll lets nothing go before an instant.
func (l *limits) stopAll(until time.Time) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if until.After(l.all) {
		l.all = until
	}
}

// stop lets nothing of one bucket go before an instant.
func (l *limits) stop(route string, until time.Time) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.prune(until)
	l.buckets[l.key(route)] = &bucket{limit: 1, reset: until}
}
