package discord

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"golang.org/x/time/rate"
)

// The pace of requests and of trying again. Fifty a second is the platform's limit; thirty leave room for those of half a
// second that bunch up on the way, or in a machine that is busy.
const (
	requestsASecond = 40 // with those at once 45 in any second, where 50 are let through: some arrive closer together than they left
	requestsAtOnce  = 5
	triesEach       = 4
	tryLimit        = 5 * time.Second  // for an answer without files
	fileLimit       = 30 * time.Second // for one with
)

// repeatable marks, in a request's context, a POST that the platform itself keeps from taking effect twice. Its value is
// a *int that counts the tries.
type repeatable struct{}

// transport sends the library's requests to the configured address. It keeps the platform's limits, which the library
// does only in part, and tries again where a second copy cannot arise.
type transport struct {
	base  *url.URL
	next  http.RoundTripper
	now   func() time.Time
	pace  *rate.Limiter
	limit limits
}

func newTransport(base *url.URL, now func() time.Time) *transport {
	next := http.DefaultTransport.(*http.Transport).Clone()
	next.MaxIdleConnsPerHost = 16
	return &transport{base: base, next: next, now: now, pace: rate.NewLimiter(requestsASecond, requestsAtOnce)}
}

// RoundTrip answers one request of the library, whose own limiter sees no headers and so never waits.
func (t *transport) RoundTrip(r *http.Request) (*http.Response, error) {
	tries, counted := r.Context().Value(repeatable{}).(*int)
	for try := 1; ; try++ {
		if counted {
			*tries = try
		}
		if err := t.admit(r); err != nil {
			return nil, err
		}
		resp, err := t.send(r)
		wait, again := t.again(r, resp, err, try)
		if again {
			again = sleep(r.Context(), wait) == nil
		}
		if !again {
			if resp != nil {
				if resp.StatusCode == http.StatusBadGateway {
					resp.StatusCode = http.StatusServiceUnavailable // of a 502 the library tells no status
				}
				resp.Header = http.Header{"Content-Type": resp.Header["Content-Type"]}
			}
			return resp, err
		}
	}
}

// admit waits until the limits known let the request go.
func (t *transport) admit(r *http.Request) error {
	if interaction(r.URL.Path) {
		return r.Context().Err()
	}
	if err := t.limit.wait(r.Context(), bucketKey(r), t.now); err != nil {
		return err
	}
	return t.pace.Wait(r.Context())
}

// send tries once and reads the whole answer.
func (t *transport) send(r *http.Request) (*http.Response, error) {
	limit := tryLimit
	if r.ContentLength > 64<<10 {
		limit = fileLimit
	}
	ctx, cancel := context.WithTimeout(r.Context(), limit)
	defer cancel()
	copied := r.Clone(ctx)
	copied.URL.Scheme, copied.URL.Host = t.base.Scheme, t.base.Host
	copied.URL.Path = strings.TrimSuffix(t.base.Path, "/") + r.URL.Path
	copied.Host = ""
	if r.GetBody != nil {
		body, err := r.GetBody()
		if err != nil {
			return nil, err
		}
		copied.Body = body
	}
	resp, err := t.next.RoundTrip(copied)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(resp.Body)
	_ = resp.Body.Close()
	if err != nil {
		return nil, err
	}
	resp.Body = io.NopCloser(bytes.NewReader(data))
	t.limit.note(bucketKey(r), resp.Header, t.now())
	if resp.StatusCode == http.StatusTooManyRequests {
		t.limited(r, resp, data)
	}
	return resp, nil
}

// limited makes the rest of the bot wait for a global 429, its bucket for another, and the body say how long.
func (t *transport) limited(r *http.Request, resp *http.Response, data []byte) {
	var said struct {
		After  float64 `json:"retry_after"`
		Global bool    `json:"global"`
	}
	_ = json.Unmarshal(data, &said) // a proxy's 429 may have no such body: its header is read
	header, _ := strconv.ParseFloat(resp.Header.Get("Retry-After"), 64)
	wait := time.Duration(cmp.Or(max(said.After, header), 1) * float64(time.Second))
	resp.Header.Set("Retry-After", strconv.FormatFloat(wait.Seconds(), 'f', 3, 64))
	until := t.now().Add(wait)
	if said.Global || resp.Header.Get("X-RateLimit-Global") != "" {
		t.limit.stopAll(until)
	} else if !interaction(r.URL.Path) {
		t.limit.stop(bucketKey(r), until)
	}
	body, _ := json.Marshal(map[string]float64{"retry_after": wait.Seconds()}) // a map of numbers always encodes
	resp.Body = io.NopCloser(bytes.NewReader(body))
}

// again tells whether and when to try again.
func (t *transport) again(r *http.Request, resp *http.Response, err error, try int) (time.Duration, bool) {
	if r.Context().Err() != nil {
		return 0, false
	}
	if err == nil && resp.StatusCode == http.StatusTooManyRequests {
		after, _ := strconv.ParseFloat(resp.Header.Get("Retry-After"), 64)
		wait := time.Duration(after * float64(time.Second))
		deadline, has := r.Context().Deadline()
		return wait, try < triesEach && (!has || t.now().Add(wait).Before(deadline))
	}
	if err == nil && resp.StatusCode < http.StatusInternalServerError {
		return 0, false
	}
	dialling, ok := errors.AsType[*net.OpError](err)
	arrived := !ok || dialling.Op != "dial"
	once := r.Method == http.MethodPost && r.Context().Value(repeatable{}) == nil && arrived
	return 250 * time.Millisecond << try, !once && try < triesEach
}

// interaction tells an answer to an interaction, which is outside the bot's limits, by its path.
func interaction(path string) bool {
	return strings.Contains(path, "/interactions/") || strings.Contains(path, "/webhooks/")
}

// sleep waits, unless the context ends first.
func sleep(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return ctx.Err()
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
