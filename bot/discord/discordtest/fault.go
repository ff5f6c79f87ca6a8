package discordtest

import (
	"slices"
	"strings"
	"time"
)

// LinkFault is what goes wrong with a link while it opens.
type LinkFault string

// The faults of an opening link.
const (
	NoHello              LinkFault = "HELLO is never sent"
	ReconnectBeforeReady LinkFault = "op 7 in place of READY"
	RefuseResumable      LinkFault = "op 9 true in place of READY"
	RefuseIdentify       LinkFault = "op 9 false in place of READY"
	NoReady              LinkFault = "READY is never sent"
	CloseAtIdentify      LinkFault = "the connection breaks at IDENTIFY"
	BadToken             LinkFault = "close 4004"
	BadIntents           LinkFault = "close 4014"
)

// FailLinks makes each of the next links fail in this way, one fault a link, in order.
func (s *Service) FailLinks(faults ...LinkFault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.linkFaults = append(s.linkFaults, faults...)
}

// Drop closes every open link with a code; 1006, which is never sent, breaks the connections instead.
func (s *Service) Drop(code int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for l := range s.links {
		l.close(code)
	}
}

// Reconnect sends op 7 on every link.
func (s *Service) Reconnect() { s.broadcast(opReconnect, "null") }

// Invalidate sends op 9 on every link.
func (s *Service) Invalidate(resumable bool) {
	s.broadcast(opInvalid, map[bool]string{true: "true", false: "false"}[resumable])
}

// Silence makes every open link say nothing more: no events, no acknowledgements, no end.
func (s *Service) Silence() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for l := range s.links {
		l.silent = true
	}
}

// Mute makes every open link acknowledge no heartbeat any more, while events still come.
func (s *Service) Mute() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for l := range s.links {
		l.mute = true
	}
}

// Send puts an event of any shape on every link: for events that decode only in part.
func (s *Service) Send(event, data string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for l := range s.links {
		l.event(event, []byte(data))
	}
}

func (s *Service) broadcast(op int, data string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for l := range s.links {
		l.send(op, []byte(data), "")
	}
}

// RESTFault is what goes wrong with the next requests that it meets.
type RESTFault struct {
	Method, Path string        // the method and the beginning of the path after the version; "" is any
	Times        int           // how many requests it meets; 1 if zero
	Status       int           // 429, 500, …; 0 answers as usual (after Delay)
	Code         int           // the platform's own number in the body, as 10062
	RetryAfter   time.Duration // of a 429
	Global       bool          // a 429 of the whole bot
	Bare         bool          // a 429 without any header, its waiting time in the body alone
	Delay        time.Duration // the answer comes only then
	Reset        bool          // the connection breaks without an answer
	After        bool          // what was asked is done before it goes wrong
}

// FailREST adds a fault.
func (s *Service) FailREST(f RESTFault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f.Times = max(f.Times, 1)
	s.restFaults = append(s.restFaults, &f)
}

// Heal takes back every fault that has not struck yet.
func (s *Service) Heal() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.restFaults, s.linkFaults = nil, nil
}

// faultFor uses up the first fault that meets a request.
func (s *Service) faultFor(method, path string) *RESTFault {
	s.mu.Lock()
	defer s.mu.Unlock()
	for i, f := range s.restFaults {
		if (f.Method == "" || f.Method == method) && strings.HasPrefix(path, f.Path) {
			if f.Times--; f.Times == 0 {
				s.restFaults = slices.Delete(s.restFaults, i, i+1)
			}
			return f
		}
	}
	return nil
}

// Request is one REST request as it came.
type Request struct {
	Method, Path string
	Body         string // the JSON part
	At           time.Time
	Status       int // as answered; 0 where the connection was broken
}

// Requests are the REST requests so far whose method and path begin so, in order.
func (s *Service) Requests(method, path string) []Request {
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []Request
	for _, r := range s.requests {
		if (method == "" || r.Method == method) && strings.HasPrefix(r.Path, path) {
			list = append(list, r)
		}
	}
	return list
}
