// Package discordtest is a stand-in Discord on loopback, REST and gateway, stricter than the real one.
// It knows nothing of the bot it serves; what it refuses or would refuse it reports as a violation.
package discordtest

import (
	"cmp"
	"errors"
	"fmt"
	"net"
	"net/http"
	"slices"
	"strconv"
	"sync"
	"time"
)

// Token is the one bot token the service knows. It is made to be recognised should it ever be printed.
const Token = "MTE0NzE.stand-in.never-print-this"

// Options say how the service behaves. Only Now must be set.
type Options struct {
	Now       func() time.Time
	Dated     func() time.Time // when messages are said to be sent, where another day is played; Now if nil
	Schema    *Schema          // the platform's published description; nil checks against our own list alone
	Heartbeat time.Duration    // the interval HELLO asks for; 41.25 s if zero
	Shards    int              // what GET /gateway/bot advises; 1 if zero
	Violation func(err error)  // told of each violation besides it being kept; may be nil
}

// Service is a running stand-in.
type Service struct {
	opts   Options
	server *http.Server
	url    string

	mu           sync.Mutex
	changed      chan struct{} // closed and replaced at each change
	lastID       uint64
	guilds       []*Guild
	channels     map[string]*Channel
	users        map[string]*User
	direct       map[string]*Channel // by user
	uploads      map[string]Attachment
	commands     []Command
	interactions map[string]*Interaction // by token
	messages     []*Message
	links        map[*link]bool
	identified   []identified
	linkFaults   []LinkFault
	restFaults   []*RESTFault
	windows      map[string]*window
	requests     []Request
	violations   []error
}

// Start opens a service on a free port of the loopback interface.
func Start(opts Options) (*Service, error) {
	opts.Heartbeat = cmp.Or(opts.Heartbeat, 41250*time.Millisecond)
	opts.Shards = cmp.Or(opts.Shards, 1)
	if opts.Dated == nil {
		opts.Dated = opts.Now
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, fmt.Errorf("listening on loopback: %w", err)
	}
	s := &Service{
		opts:         opts,
		url:          "http://" + listener.Addr().String(),
		changed:      make(chan struct{}),
		channels:     map[string]*Channel{},
		users:        map[string]*User{},
		direct:       map[string]*Channel{},
		uploads:      map[string]Attachment{},
		interactions: map[string]*Interaction{},
		links:        map[*link]bool{},
		windows:      map[string]*window{},
	}
	s.users[applicationID] = &User{ID: applicationID, Name: "Shortday", bot: true, s: s}
	s.server = &http.Server{Handler: s.handler(), ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = s.server.Serve(listener) }()
	return s, nil
}

// T is the part of *testing.T that New needs.
type T interface {
	Helper()
	Cleanup(f func())
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// New starts a service for a test, which any violation fails.
func New(t T, opts Options) *Service {
	t.Helper()
	s, err := Start(opts)
	if err != nil {
		t.Fatalf("%v", err)
	}
	t.Cleanup(func() {
		s.Close()
		for _, err := range s.Violations() {
			t.Errorf("Discord would refuse: %v", err)
		}
	})
	return s
}

// URL is the address to give as the REST address.
func (s *Service) URL() string { return s.url }

// Close ends the service and every link to it.
func (s *Service) Close() {
	s.Drop(1006)
	_ = s.server.Close()
}

// Violations are the rules broken so far, in order.
func (s *Service) Violations() []error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.violations)
}

// Forgive takes back the violations so far and gives them: for tests of the service's own strictness.
func (s *Service) Forgive() []error {
	s.mu.Lock()
	defer s.mu.Unlock()
	broken := s.violations
	s.violations = nil
	return broken
}

// violate records a broken rule; the caller holds the lock.
func (s *Service) violate(format string, args ...any) {
	err := fmt.Errorf(format, args...)
	s.violations = append(s.violations, err)
	if s.opts.Violation != nil {
		s.opts.Violation(err)
	}
}

// Changed gives what is closed at the next change of anything: for whoever shows the world as it goes.
func (s *Service) Changed() <-chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.changed
}

// touch wakes whoever waits; the caller holds the lock.
func (s *Service) touch() {
	close(s.changed)
	s.changed = make(chan struct{})
}

// ErrTimeout is what waiting ends with when what was waited for did not come.
var ErrTimeout = errors.New("nothing came in time")

// await waits until holds, which is called under the service's lock, is true.
func (s *Service) await(limit time.Duration, holds func() bool) error {
	timeout := time.NewTimer(limit)
	defer timeout.Stop()
	for {
		s.mu.Lock()
		done, changed := holds(), s.changed
		s.mu.Unlock()
		if done {
			return nil
		}
		select {
		case <-changed:
		case <-timeout.C:
			return ErrTimeout
		}
	}
}

// epoch is the first instant of the platform's ids: 2015-01-01 UTC, in milliseconds.
const epoch = 1420070400000

// newID gives the next id, which tells its instant as the platform's do; the caller holds the lock.
func (s *Service) newID() string {
	id := uint64(s.opts.Dated().UnixMilli()-epoch) << 22
	s.lastID = max(id, s.lastID+1)
	return strconv.FormatUint(s.lastID, 10)
}

// older tells whether id a was given before id b.
func older(a, b string) bool { return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b)) < 0 }
