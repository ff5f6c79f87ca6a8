package discord

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
)

// The kinds of websocket frame (RFC 6455, section 5.2) that a server sends.
const (
	frameMore  = 0x0 // goes on with the message before
	frameText  = 0x1
	frameClose = 0x8
	framePing  = 0x9
	framePong  = 0xA
)

// longestMessage bounds what one message may take in memory. The largest real one tells of one server.
const longestMessage = 16 << 20

var errFrame = errors.New("a websocket frame that breaks the protocol")

// frame is one unmasked frame, as servers send them.
type frame struct {
	last bool
	kind byte
	data []byte
}

// readFrame reads one frame.
func readFrame(r io.Reader) (frame, error) {
	var head [10]byte
	if _, err := io.ReadFull(r, head[:2]); err != nil {
		return frame{}, err
	}
	size := uint64(head[1] & 0x7f)
	extra := map[uint64]int{126: 2, 127: 8}[size]
	if _, err := io.ReadFull(r, head[2:2+extra]); err != nil {
		return frame{}, err
	}
	switch extra {
	case 2:
		size = uint64(binary.BigEndian.Uint16(head[2:]))
	case 8:
		size = binary.BigEndian.Uint64(head[2:])
	}
	masked, reserved := head[1]&0x80 != 0, head[0]&0x70 != 0
	if masked || reserved || size > longestMessage {
		return frame{}, errFrame
	}
	f := frame{last: head[0]&0x80 != 0, kind: head[0] & 0x0f, data: make([]byte, size)}
	_, err := io.ReadFull(r, f.data)
	return f, err
}

// write puts a whole message of one frame into the buffer.
func (f frame) write(to *bytes.Buffer) {
	to.WriteByte(0x80 | f.kind)
	switch n := len(f.data); {
	case n < 126:
		to.WriteByte(byte(n))
	case n <= 0xffff:
		to.WriteByte(126)
		to.Write(binary.BigEndian.AppendUint16(nil, uint16(n)))
	default:
		to.WriteByte(127)
		to.Write(binary.BigEndian.AppendUint64(nil, uint64(n)))
	}
	to.Write(f.data)
}
