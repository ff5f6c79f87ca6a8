package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
)

// webpSize gives the size of the largest picture in a WebP: what its canvas says need not be what is unpacked
// (RFC 9649, section 2).
func webpSize(r *bytes.Reader) (image.Config, error) {
	data := make([]byte, r.Len())
	if _, err := r.Read(data); err != nil {
		return image.Config{}, err
	}
	var largest image.Config
	for at := 12; at+8 <= len(data); {
		body := data[at+8:]
		length := int(min(binary.LittleEndian.Uint32(data[at+4:]), uint32(len(body)))) // it may say more than an int holds
		body = body[:length]
		if w, h := framed(string(data[at:at+4]), body); int64(w)*int64(h) > int64(largest.Width)*int64(largest.Height) {
			largest.Width, largest.Height = w, h
		}
		at += 8 + length + length%2
	}
	if largest.Width == 0 {
		return largest, errors.New("a WebP without a picture")
	}
	return largest, nil
}

// framed gives the size that a chunk with pixels begins with.
func framed(name string, body []byte) (w, h int) {
	switch {
	case name == "VP8 " && len(body) >= 10:
		return int(binary.LittleEndian.Uint16(body[6:]) & 0x3fff), int(binary.LittleEndian.Uint16(body[8:]) & 0x3fff)
	case name == "VP8L" && len(body) >= 5:
		bits := binary.LittleEndian.Uint32(body[1:])
		return int(bits&0x3fff) + 1, int(bits>>14&0x3fff) + 1
	case name == "VP8X" && len(body) >= 10:
		return (int(body[4]) | int(body[5])<<8 | int(body[6])<<16) + 1, (int(body[7]) | int(body[8])<<8 | int(body[9])<<16) + 1
	}
	return 0, 0
}
