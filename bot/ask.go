// Package bot turns one question into one answer: an Ask goes to the Desk, which finds the request among its families
// and gives back a Reply. It leaves the trade to bot/requests and every chat platform to the adapters.
package bot

import (
	"slices"
	"time"

	"shortday/knowledge/calendar"
)

// Party is a co-op or a person: Key is the platform's own lasting name for it, Name what people read.
type Party struct {
	Key, Name string
}

// Entry is one field of a request as it was typed. A file that a platform sent along has come already; its Text is then
// what would be read as the same file again, and empty where nothing can be typed for it.
type Entry struct {
	Field, Text string
	File        *File
}

// Ask is one question.
type Ask struct {
	Coop, Who Party
	Request   string // as Request.Path writes it: "/stock add"
	Fields    []Entry

	// At is the instant of asking. The Desk moves it to the asker's zone where that is known.
	At time.Time
	// Clock says that At is what the asker's own clock shows, in whatever zone that turns out to be.
	Clock bool

	// Open gives the file that a typed path names, within Largest bytes. It is nil where the asker's own files cannot be
	// reached, so that no path of our machine is ever read for them.
	Open func(path string) (File, error)

	// Adapter is what the ask came by, as notices name it: "terminal", "discord".
	Adapter string
	// Progress is told how much of something long is done; nil where that cannot be shown.
	Progress func(done, of int)

	Steward bool // the platform itself gives the asker a steward's rights
	// Governed says that the platform alone makes stewards: who is none by it is none, whatever the register says.
	Governed bool
	Direct   bool // asked where nobody else reads along
}

// Today is the asker's day.
func (a Ask) Today() calendar.Day { return calendar.DayAt(a.At) }

// String writes the request with its fields so that Desk.Read reads the same. A file that cannot be typed is left out.
func (a Ask) String() string {
	return write(a.Request, slices.DeleteFunc(slices.Clone(a.Fields), func(e Entry) bool { return e.File != nil && e.Text == "" }))
}

// Typed writes a request for Reply.Next, from pairs of field and text. Fields with an empty text are left out.
func Typed(request string, pairs ...string) string {
	var fields []Entry
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			fields = append(fields, Entry{Field: pairs[i], Text: pairs[i+1]})
		}
	}
	return write(request, fields)
}
