package discordtest

import (
	"encoding/json"
	"net"
	"net/http"
	"strconv"
	"time"

	"github.com/gorilla/websocket"
)

// The operations of the gateway.
const (
	opEvent     = 0
	opHeartbeat = 1
	opIdentify  = 2
	opResume    = 6
	opReconnect = 7
	opInvalid   = 9
	opHello     = 10
	opAck       = 11
)

// allowedIntents are those a bot of slash commands may ask for: guilds alone.
const allowedIntents = 1 << 0

// link is one gateway connection.
type link struct {
	s      *Service
	conn   *websocket.Conn
	out    chan []byte
	end    chan struct{}
	fault  LinkFault
	shard  [2]int
	ready  bool
	silent bool
	mute   bool
	closed bool
	seq    int64
	sends  window
	beat   time.Time
}

type packet struct {
	Op   int             `json:"op"`
	Data json.RawMessage `json:"d"`
	Seq  *int64          `json:"s"`
	Type *string         `json:"t"`
}

func (s *Service) serveLink(w http.ResponseWriter, r *http.Request) {
	upgrader := websocket.Upgrader{}
	conn, err := upgrader.Upgrade(w, r, nil)
	if err != nil {
		return
	}
	l := &link{s: s, conn: conn, out: make(chan []byte, 4096), end: make(chan struct{}), beat: s.opts.Now()}
	s.mu.Lock()
	if len(s.linkFaults) > 0 {
		l.fault, s.linkFaults = s.linkFaults[0], s.linkFaults[1:]
	}
	if r.URL.Query().Get("encoding") != "json" || r.URL.Query().Get("v") == "" {
		s.violate("a link opened with %q", r.URL.RawQuery)
	}
	s.links[l] = true
	if l.fault != NoHello {
		l.send(opHello, []byte(`{"heartbeat_interval":`+strconv.FormatInt(s.opts.Heartbeat.Milliseconds(), 10)+`,"_trace":["stand-in"]}`), "")
	}
	s.touch()
	s.mu.Unlock()
	go l.write()
	l.read()
}

// write sends what is queued until the link ends.
func (l *link) write() {
	for {
		select {
		case m := <-l.out:
			if l.conn.WriteMessage(websocket.TextMessage, m) != nil {
				return
			}
		case <-l.end:
			return
		}
	}
}

// read takes what the client sends until the link ends. A client that misses a heartbeat by half is let go.
func (l *link) read() {
	defer func() {
		l.s.mu.Lock()
		l.close(1006)
		l.s.mu.Unlock()
	}()
	for {
		_ = l.conn.SetReadDeadline(l.s.opts.Now().Add(l.s.opts.Heartbeat * 3 / 2))
		_, data, err := l.conn.ReadMessage()
		if err != nil {
			return
		}
		var p packet
		if json.Unmarshal(data, &p) != nil {
			l.refuse(4002, "a packet that is no JSON: %s", data)
			return
		}
		l.take(p)
	}
}

func (l *link) refuse(code int, format string, args ...any) {
	l.s.mu.Lock()
	defer l.s.mu.Unlock()
	l.s.violate(format, args...)
	l.close(code)
}

// take acts on one packet.
func (l *link) take(p packet) {
	s := l.s
	s.mu.Lock()
	defer s.mu.Unlock()
	if now := s.opts.Now(); now.Sub(l.sends.since) >= time.Minute {
		l.sends = window{since: now}
	}
	if l.sends.count++; l.sends.count > 120 {
		s.violate("more than 120 packets in a minute")
		l.close(4008)
		return
	}
	switch {
	case p.Op == opHeartbeat:
		if !l.mute {
			l.send(opAck, nil, "")
		}
	case p.Op == opIdentify && l.ready:
		s.violate("a second IDENTIFY on one link")
		l.close(4005)
	case p.Op == opIdentify:
		l.identify(p.Data)
	case p.Op == opResume:
		l.send(opInvalid, []byte("false"), "")
	default:
		s.violate("a packet with op %d", p.Op)
		l.close(4001)
	}
}

// identify checks an IDENTIFY and answers it, or fails as asked to; the caller holds the lock.
func (l *link) identify(data []byte) {
	s := l.s
	var id struct {
		Token      string            `json:"token"`
		Intents    int               `json:"intents"`
		Shard      *[2]int           `json:"shard"`
		Compress   bool              `json:"compress"`
		Properties map[string]string `json:"properties"`
	}
	if json.Unmarshal(data, &id) != nil || id.Properties["os"]+id.Properties["$os"] == "" || id.Compress {
		s.violate("an IDENTIFY without properties, or compressed")
		l.close(4002)
		return
	}
	l.shard = [2]int{0, 1}
	if id.Shard != nil {
		l.shard = *id.Shard
	}
	early := s.countIdentify(l.shard[0])
	switch {
	case id.Token != "Bot "+Token && id.Token != Token || l.fault == BadToken:
		l.close(4004)
	case l.fault == BadIntents:
		l.close(4014)
	case id.Intents != allowedIntents:
		s.violate("intents %b", id.Intents)
		l.close(4014)
	case l.shard[0] >= l.shard[1]:
		s.violate("shard %v", l.shard)
		l.close(4010)
	case l.fault == CloseAtIdentify:
		l.close(1006)
	case l.fault == NoReady:
	case l.fault == ReconnectBeforeReady:
		l.send(opReconnect, nil, "")
	case early || l.fault == RefuseIdentify || l.fault == RefuseResumable:
		l.send(opInvalid, encode(l.fault == RefuseResumable), "")
	default:
		l.welcome()
	}
}

// countIdentify counts one IDENTIFY and tells whether it came too early after the last.
func (s *Service) countIdentify(shard int) bool {
	now := s.opts.Now()
	early := len(s.identified) > 0 && now.Sub(s.identified[len(s.identified)-1].at) < identifyEvery
	if early {
		s.violate("two IDENTIFYs within %v", identifyEvery)
	}
	s.identified = append(s.identified, identified{now, shard})
	if len(s.identified) > identifiesADay {
		s.violate("more than %d IDENTIFYs a day", identifiesADay)
	}
	return early
}

// welcome sends READY and the servers of the link's shard.
func (l *link) welcome() {
	type application struct {
		ID    string `json:"id"`
		Flags int    `json:"flags"`
	}
	ready := struct {
		Version   int           `json:"v"`
		User      userJSON      `json:"user"`
		Guilds    []unavailable `json:"guilds"`
		SessionID string        `json:"session_id"`
		ResumeURL string        `json:"resume_gateway_url"`
		Shard     [2]int        `json:"shard"`
		App       application   `json:"application"`
	}{9, l.s.users[applicationID].json(), []unavailable{}, "session-" + l.s.newID(), l.s.linkURL(), l.shard, application{applicationID, 0}}
	for _, g := range l.s.guilds {
		if l.serves(g) {
			ready.Guilds = append(ready.Guilds, unavailable{ID: g.ID, Unavailable: true})
		}
	}
	l.ready = true
	l.event("READY", encode(ready))
	for _, g := range l.s.guilds {
		if l.serves(g) && !g.out {
			l.event("GUILD_CREATE", g.created())
		}
	}
	l.s.touch()
}

// serves tells whether a server, or nil for direct messages, belongs to the link's shard.
func (l *link) serves(g *Guild) bool {
	if g == nil {
		return l.shard[0] == 0
	}
	id, _ := strconv.ParseUint(g.ID, 10, 64)
	return int((id>>22)%uint64(l.shard[1])) == l.shard[0]
}

// dispatch sends an event on the link whose shard it belongs to; the caller holds the lock.
func (s *Service) dispatch(g *Guild, event string, data []byte) {
	for l := range s.links {
		if l.ready && l.serves(g) {
			l.event(event, data)
		}
	}
	s.touch()
}

func (l *link) event(name string, data []byte) { l.send(opEvent, data, name) }

// send queues a packet. The caller holds the lock, so that numbers and order agree.
func (l *link) send(op int, data []byte, event string) {
	if l.closed || l.silent {
		return
	}
	p := packet{Op: op, Data: data}
	if data == nil {
		p.Data = json.RawMessage("null")
	}
	if op == opEvent {
		l.seq++
		seq := l.seq
		p.Seq, p.Type = &seq, &event
	}
	select {
	case l.out <- encode(p):
	default:
		l.close(1006)
	}
}

// close ends the link with a code, which 1006 is never: that breaks the connection. The caller holds the lock.
func (l *link) close(code int) {
	if l.closed {
		return
	}
	l.closed = true
	delete(l.s.links, l)
	close(l.end)
	if code == 1006 {
		if tcp, isTCP := l.conn.NetConn().(*net.TCPConn); isTCP {
			_ = tcp.SetLinger(0)
		}
		_ = l.conn.Close()
	} else {
		message := websocket.FormatCloseMessage(code, "closed by the stand-in")
		_ = l.conn.WriteControl(websocket.CloseMessage, message, l.s.opts.Now().Add(time.Second))
		time.AfterFunc(2*time.Second, func() { _ = l.conn.Close() })
	}
	l.s.touch()
}

// Ready gives how many links have been welcomed and are open.
func (s *Service) Ready() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.ready()
}

func (s *Service) ready() int {
	n := 0
	for l := range s.links {
		if l.ready && !l.silent && !l.mute {
			n++
		}
	}
	return n
}

// AwaitReady waits until so many links are welcomed, open and well.
func (s *Service) AwaitReady(n int, limit time.Duration) error {
	return s.await(limit, func() bool { return s.ready() >= n })
}

// AwaitUnlinked waits until no link is open: one that a client ended is open here until that was read.
func (s *Service) AwaitUnlinked(limit time.Duration) error {
	return s.await(limit, func() bool { return len(s.links) == 0 })
}

// AwaitIdentifies waits until so many IDENTIFYs have come.
func (s *Service) AwaitIdentifies(n int, limit time.Duration) error {
	return s.await(limit, func() bool { return len(s.identified) >= n })
}

// Identifies gives the instants of the IDENTIFYs so far.
func (s *Service) Identifies() []time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	list := make([]time.Time, 0, len(s.identified))
	for _, id := range s.identified {
		list = append(list, id.at)
	}
	return list
}
