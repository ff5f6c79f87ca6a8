package discord

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
)

// The operations of the gateway that a line looks at.
const (
	opEvent     = 0
	opReconnect = 7
	opInvalid   = 9
	opHello     = 10
	opAck       = 11
)

// How long HELLO and READY may each take, and a packet to be written.
const (
	openLimit  = 5 * time.Second
	writeLimit = 10 * time.Second
)

// packet is one message of the gateway.
type packet struct {
	Op   int             `json:"op"`
	Data json.RawMessage `json:"d"`
	Seq  int64           `json:"s"`
	Type string          `json:"t"`
}

// errRefused is the answer to an IDENTIFY that came too early, or once too often.
var errRefused = errors.New("the identification was refused (op 9)")

// closedError is the gateway's own close code.
type closedError int

func (c closedError) Error() string {
	return "the link was closed with code " + strconv.Itoa(int(c))
}

// line is the connection under one Session. It reads the gateway's messages before the Session does, because the
// Session ignores close codes and the silence of a dead link, deadlocks on op 7 before READY, answers op 9 with an
// uncounted IDENTIFY, delivers events in no order and dies of a null event. What the Session still needs is passed on:
// HELLO, acknowledgements and the running numbers that its heartbeats repeat.
type line struct {
	net.Conn
	now   func() time.Time
	hello func()       // an IDENTIFY follows
	said  func()       // it was sent
	event func(packet) // in order, on the reading goroutine; must not block

	in       *bufio.Reader
	out      bytes.Buffer // what the Session may read next
	upgraded bool         // the answer to the HTTP request is over
	message  []byte       // the frames so far of a message in several
	saying   atomic.Bool  // what is written next is the IDENTIFY
	interval time.Duration
	due      time.Time // something must have been heard by then

	ready chan struct{} // closed at READY
	down  chan struct{} // closed when the line is lost
	mu    sync.Mutex
	cause error // why it was lost; read after down
}

func newLine(now func() time.Time, hello, said func(), event func(packet)) *line {
	return &line{now: now, hello: hello, said: said, event: event, ready: make(chan struct{}), down: make(chan struct{})}
}

// dialer gives a dialer whose one connection is the line's.
func (l *line) dialer() *websocket.Dialer {
	d := *websocket.DefaultDialer
	d.HandshakeTimeout = openLimit
	d.NetDialContext = func(ctx context.Context, network, address string) (net.Conn, error) {
		if host, _, err := net.SplitHostPort(address); err != nil || !loopback(host) {
			return l.use(nil, fmt.Errorf("the gateway at %s would be told the token in the clear", address))
		}
		conn, err := (&net.Dialer{}).DialContext(ctx, network, address)
		return l.use(conn, err)
	}
	d.NetDialTLSContext = func(ctx context.Context, network, address string) (net.Conn, error) {
		conn, err := (&tls.Dialer{}).DialContext(ctx, network, address)
		return l.use(conn, err)
	}
	return &d
}

func (l *line) use(conn net.Conn, err error) (net.Conn, error) {
	if err != nil {
		l.lose(err)
		return nil, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.Conn, l.in, l.due = conn, bufio.NewReader(conn), l.now().Add(openLimit)
	if l.cause != nil { // given up while it was dialled
		_ = conn.Close()
	}
	return l, nil
}

// lose breaks the line; the first cause stands.
func (l *line) lose(cause error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.cause != nil {
		return
	}
	l.cause = cause
	if l.Conn != nil {
		_ = l.Conn.Close()
	}
	close(l.down)
}

// Read gives the Session what it needs to know.
func (l *line) Read(p []byte) (int, error) {
	for l.out.Len() == 0 {
		if err := l.fill(); err != nil {
			l.lose(err)
			return 0, err
		}
	}
	return l.out.Read(p)
}

// Write fails where the other side takes nothing any more.
func (l *line) Write(p []byte) (int, error) {
	if err := l.Conn.SetWriteDeadline(l.now().Add(writeLimit)); err != nil {
		return 0, err
	}
	n, err := l.Conn.Write(p)
	if l.saying.CompareAndSwap(true, false) {
		l.said()
	}
	return n, err
}

func (l *line) fill() error {
	if err := l.Conn.SetReadDeadline(l.due); err != nil {
		return err
	}
	if !l.upgraded {
		header, err := l.in.ReadSlice('\n')
		l.out.Write(header)
		l.upgraded = len(bytes.TrimSpace(header)) == 0
		return err
	}
	f, err := readFrame(l.in)
	if err != nil {
		return err
	}
	switch f.kind {
	case frameText, frameMore:
		if len(l.message)+len(f.data) > longestMessage {
			return errFrame
		}
		if l.message = append(l.message, f.data...); !f.last {
			return nil
		}
		data := l.message
		l.message = nil
		return l.take(data)
	case framePing, framePong:
		f.write(&l.out)
		return nil
	case frameClose:
		if len(f.data) < 2 {
			return closedError(websocket.CloseNoStatusReceived)
		}
		return closedError(binary.BigEndian.Uint16(f.data))
	}
	return errFrame
}

// take acts on one message. One that is no packet is passed over.
func (l *line) take(data []byte) error {
	var p packet
	if json.Unmarshal(data, &p) != nil {
		return nil
	}
	switch p.Op {
	case opReconnect:
		return errors.New("a new link was asked for (op 7)")
	case opInvalid:
		if isClosed(l.ready) {
			return errors.New("the session was ended (op 9)")
		}
		return errRefused
	case opHello:
		var h struct {
			Interval int64 `json:"heartbeat_interval"`
		}
		if json.Unmarshal(p.Data, &h) != nil || h.Interval <= 0 {
			return errors.New("a HELLO without an interval")
		}
		l.interval, l.due = time.Duration(h.Interval)*time.Millisecond, l.now().Add(openLimit)
		l.hello()
		l.saying.Store(true)
	case opAck:
		l.due = l.now().Add(2 * l.interval)
	case opEvent:
		l.dispatch(p)
		return nil
	}
	frame{kind: frameText, data: data}.write(&l.out)
	return nil
}

// dispatch hands an event over and leaves the Session its number alone.
func (l *line) dispatch(p packet) {
	name := "-"
	if p.Type == "READY" {
		name, l.due = p.Type, l.now().Add(2*l.interval)
	}
	l.event(p)
	frame{kind: frameText, data: fmt.Appendf(nil, `{"op":0,"s":%d,"t":%q,"d":{}}`, p.Seq, name)}.write(&l.out)
	if p.Type == "READY" && !isClosed(l.ready) {
		close(l.ready)
	}
}

func isClosed(c chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}

// session makes a Session on the line: no reconnecting, no state, no compression, no log.
func (l *line) session(c *Connection, shard, shards int) (*discordgo.Session, error) {
	s, err := c.session()
	if err != nil {
		return nil, err
	}
	s.Dialer = l.dialer()
	s.ShardID, s.ShardCount = shard, shards
	s.Identify.Intents = discordgo.IntentsGuilds
	return s, nil
}
