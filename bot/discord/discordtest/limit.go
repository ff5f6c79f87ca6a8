package discordtest

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"time"
)

// window counts requests of one bucket in a fixed span.
type window struct {
	since time.Time
	count int
}

// The limits the service holds: the platform's own of a bot, and the prudent plan for a channel.
const (
	wholeLimit, wholeSpan     = 50, time.Second
	channelLimit, channelSpan = 5, 5 * time.Second
)

// limit counts a request against the whole bot's limit and its channel's, sets the headers a client must heed,
// and refuses what goes beyond, which a client that heeds them never meets. The caller holds the lock.
func (s *Service) limit(h http.Header, c *call, rt route) reply {
	if !rt.free {
		if _, wait := s.window("bot", wholeLimit, wholeSpan); wait > 0 {
			s.violate("more than %d requests in a second", wholeLimit)
			tooMany(h, wait, true, false)
			return reply{http.StatusTooManyRequests, tooManyBody(wait, true)}
		}
	}
	if c.r.Method != http.MethodPost || c.r.PathValue("channel") == "" {
		return reply{}
	}
	bucket := "post " + c.r.PathValue("channel")
	left, wait := s.window(bucket, channelLimit, channelSpan)
	h.Set("X-RateLimit-Bucket", "80c17d2f203122d936070c88c8d10f33")
	h.Set("X-RateLimit-Limit", strconv.Itoa(channelLimit))
	h.Set("X-RateLimit-Remaining", strconv.Itoa(left))
	end := s.windows[bucket].since.Add(channelSpan)
	h.Set("X-RateLimit-Reset-After", seconds(end.Sub(s.opts.Now())))
	h.Set("X-RateLimit-Reset", strconv.FormatFloat(float64(end.UnixMilli())/1000, 'f', 3, 64))
	if wait > 0 {
		s.violate("more than %d posts in a channel in %v", channelLimit, channelSpan)
		tooMany(h, wait, false, false)
		return reply{http.StatusTooManyRequests, tooManyBody(wait, false)}
	}
	return reply{}
}

// window counts one more and tells how many are left, or how long until there are.
func (s *Service) window(bucket string, limit int, span time.Duration) (left int, wait time.Duration) {
	now := s.opts.Now()
	w := s.windows[bucket]
	if w == nil || now.Sub(w.since) >= span {
		w = &window{since: now}
		s.windows[bucket] = w
	}
	if w.count == limit {
		return 0, w.since.Add(span).Sub(now)
	}
	w.count++
	return limit - w.count, 0
}

// tooMany sets the headers of a 429. Without them the waiting time stands in the body alone.
func tooMany(h http.Header, wait time.Duration, global, bare bool) {
	if bare {
		return
	}
	h.Set("Retry-After", strconv.Itoa(int(math.Ceil(wait.Seconds()))))
	h.Set("X-RateLimit-Scope", "user")
	if global {
		h.Set("X-RateLimit-Global", "true")
		h.Set("X-RateLimit-Scope", "global")
	}
}

func tooManyBody(wait time.Duration, global bool) []byte {
	return fmt.Appendf(nil, `{"message":"You are being rate limited.","retry_after":%s,"global":%t}`, seconds(wait), global)
}
