// Package terminal carries a conversation over lines of text: it reads requests with line editing and sets replies in
// columns or as JSON. It leaves what they mean to the desk.
package terminal

import (
	"fmt"
	"io"
	"strings"

	"shortday/bot"
)

// Sheet is what a reply is set on.
type Sheet struct {
	Width  int // cells in a line; 0 sets no limit
	Colour bool
	first  int // how many next requests were numbered before
}

const (
	bold   = "\x1b[1m"
	faint  = "\x1b[2m"
	yellow = "\x1b[33m"
	green  = "\x1b[32m"
	plain  = "\x1b[0m"
)

func (s Sheet) ink(colour, text string) string {
	if !s.Colour || text == "" {
		return text
	}
	return colour + text + plain
}

// Write sets a reply: title, text, rows, files and the numbered next requests, parted by empty lines. Kept holds the
// path of each file that was kept, in order, and may be nil.
func (s Sheet) Write(w io.Writer, reply bot.Reply, kept []string) error {
	var parts []string
	add := func(part string) {
		if part != "" {
			parts = append(parts, part)
		}
	}
	add(s.head(reply))
	add(strings.Join(wrap(bot.Clean(reply.Text, true), s.Width), "\n"))
	add(s.table(reply.Rows))
	add(s.files(reply.Files, kept))
	add(s.next(reply.Next))
	_, err := fmt.Fprintln(w, strings.Join(parts, "\n\n"))
	return err
}

func (s Sheet) head(reply bot.Reply) string {
	if reply.Refusal != nil {
		return s.ink(yellow, strings.Join(wrap(bot.Clean(reply.Refusal.Text, true), s.Width), "\n"))
	}
	head := s.ink(bold, strings.Join(wrap(bot.Clean(reply.Title, false), s.Width), "\n"))
	if reply.Private {
		head = strings.TrimPrefix(head+"\n"+s.ink(faint, "(only you see this)"), "\n")
	}
	return head
}

func (s Sheet) files(files []bot.File, kept []string) string {
	var lines []string
	for i, f := range files {
		line := fmt.Sprintf("[%s, %s] %s", bot.Clean(f.Name, false), bot.Size(len(f.Data)), bot.Clean(f.Alt, false))
		if i < len(kept) {
			line += "\nkept as " + kept[i]
		}
		lines = append(lines, wrap(line, s.Width)...)
	}
	return strings.Join(lines, "\n")
}

func (s Sheet) next(next []bot.Next) string {
	const margin = 4
	room := s.Width
	if room > 0 {
		room = max(1, room-margin)
	}
	var lines []string
	for i, n := range next {
		number := fmt.Sprintf("%2d  ", s.first+i+1)
		text := bot.Clean(n.Label, false)
		if request := bot.Clean(n.Request, false); request != text {
			text += "  " + request
		}
		for j, line := range wrap(text, room) {
			if j > 0 {
				number = strings.Repeat(" ", margin)
			}
			lines = append(lines, s.ink(green, number)+line)
		}
	}
	return strings.Join(lines, "\n")
}

// Bold makes a heading stand out where the sheet has colour.
func (s Sheet) Bold(text string) string { return s.ink(bold, text) }
