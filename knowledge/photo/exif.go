package photo

import (
	"bytes"
	"encoding/binary"
)

// walk goes over a JPEG's segments. It gives the orientation that its EXIF has, 1 where there is none, and the scans.
func walk(data []byte) (orientation, scans int) {
	orientation = 1
	for i := 2; i+4 <= len(data); {
		if data[i] != 0xff || data[i+1] == 0x00 || data[i+1] == 0xff {
			next := bytes.IndexByte(data[i+1:], 0xff) // within a scan: on to the next marker
			if next < 0 {
				return orientation, scans
			}
			i += 1 + next
			continue
		}
		marker := data[i+1]
		if marker == 0x01 || marker >= 0xd0 && marker <= 0xd9 { // these stand alone
			i += 2
			continue
		}
		length := int(binary.BigEndian.Uint16(data[i+2:]))
		if length < 2 || i+2+length > len(data) {
			return orientation, scans
		}
		body := data[i+4 : i+2+length]
		switch {
		case marker == 0xda:
			scans++
		case marker == 0xe1 && bytes.HasPrefix(body, []byte("Exif\x00\x00")):
			orientation = orientationOf(body[6:])
		}
		i += 2 + length
	}
	return orientation, scans
}

const orientationTag = 0x0112

// orientationOf reads the first directory of EXIF (TIFF 6.0, section 2).
func orientationOf(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder
	switch string(tiff[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 1
	}
	at := uint64(order.Uint32(tiff[4:]))
	if at+2 > uint64(len(tiff)) {
		return 1
	}
	entries := tiff[at+2:]
	for range order.Uint16(tiff[at:]) {
		if len(entries) < 12 {
			return 1
		}
		if order.Uint16(entries) == orientationTag {
			if n := int(order.Uint16(entries[8:])); n >= 1 && n <= 8 {
				return n
			}
			return 1
		}
		entries = entries[12:]
	}
	return 1
}
