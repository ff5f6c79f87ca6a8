package listing

import (
	"bytes"
	"encoding/binary"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"shortday/knowledge/fault"
)

// foreign are the beginnings of files that are often sent in place of a list, and what they are.
var foreign = [...]struct{ begin, what string }{
	{"PK\x03\x04", "a workbook (such as .xlsx or .ods) or another packed file"},
	{"\xd0\xcf\x11\xe0", "a workbook of an older spreadsheet (.xls)"},
	{"MZ\x90", "a program, whatever its name"},
	{"\x7fELF", "a program, whatever its name"},
	{"\xfe\xed\xfa", "a program, whatever its name"},
	{"\xcf\xfa\xed\xfe", "a program, whatever its name"},
	{"\xca\xfe\xba\xbe", "a program, whatever its name"},
	{"#!", "a program, whatever its name"},
	{"%PDF", "a PDF"},
	{"\x89PNG", "a picture"},
	{"\xff\xd8\xff", "a picture"},
	{"GIF8", "a picture"},
	{"RIFF", "a picture or a sound"},
	{"{\\rtf", "a letter of a word processor"},
	{"\x1f\x8b", "a packed file"},
	{"SQLite format 3", "a database"},
	{"<!DOCTYPE", "a web page"},
	{"<!doctype", "a web page"},
	{"<html", "a web page"},
	{"<?xml", "a file for programs"},
}

const saveAs = "In the spreadsheet choose Save as, or Export, and CSV; then send that file."

// decode gives the text of a file in whichever of the usual ways it was saved.
func decode(data []byte) (string, error) {
	if len(bytes.TrimSpace(data)) == 0 {
		return "", fault.New(fault.Unclear, "There is nothing in this list. Save it again, with a line that names its columns.")
	}
	text := ""
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		text = wide(data[2:], binary.LittleEndian)
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		text = wide(data[2:], binary.BigEndian)
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		text = strings.ToValidUTF8(string(data[3:]), "\ufffd")
	default:
		for _, f := range foreign {
			if bytes.HasPrefix(data, []byte(f.begin)) {
				return "", fault.New(fault.Unclear, "This is no list but %s. %s", f.what, saveAs)
			}
		}
		text = unmarked(data)
	}
	if strings.ContainsRune(text, 0) {
		return "", fault.New(fault.Unclear, "This is no list that can be read as text. %s", saveAs)
	}
	return text, nil
}

// unmarked decodes what has no mark of its byte order: UTF-16 by its many zeros, UTF-8 where it is that, else Windows-1252.
func unmarked(data []byte) string {
	var zeros [2]int
	sample := data[:min(len(data), 1000)]
	for i, b := range sample {
		if b == 0 {
			zeros[i%2]++
		}
	}
	switch few, many := len(sample)/20, len(sample)/4; {
	case zeros[1] > many && zeros[0] <= few:
		return wide(data, binary.LittleEndian)
	case zeros[0] > many && zeros[1] <= few:
		return wide(data, binary.BigEndian)
	case utf8.Valid(data):
		return string(data)
	}
	text, err := charmap.Windows1252.NewDecoder().Bytes(data)
	if err != nil {
		return strings.ToValidUTF8(string(data), "\ufffd")
	}
	return string(text)
}

func wide(data []byte, order binary.ByteOrder) string {
	units := make([]uint16, len(data)/2)
	for i := range units {
		units[i] = order.Uint16(data[2*i:])
	}
	return string(utf16.Decode(units))
}
