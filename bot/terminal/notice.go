package terminal

import (
	"fmt"
	"io"
	"strings"

	"shortday/bot"
	"shortday/scheduler"
)

// FromNotice gives a notice the form of a reply.
func FromNotice(n scheduler.Notice) bot.Reply {
	reply := bot.Reply{Title: n.Title, Text: n.Text, Instants: n.Instants, Private: n.Member != (scheduler.Party{})}
	for _, o := range n.Next {
		reply.Next = append(reply.Next, bot.Next{Label: o.Label, Request: o.Request})
	}
	return reply
}

// Tell shows a notice above the line being typed. What it offers is numbered after what was offered before, so that a
// number about to be typed keeps its meaning. It may be called from any goroutine while Run runs.
func (t *Talk) Tell(n scheduler.Notice) error {
	reply := FromNotice(n)
	t.mu.Lock()
	sheet := t.sheet
	sheet.Width, sheet.first = t.lines.width(), len(t.next)
	t.next = append(t.next[:len(t.next):len(t.next)], reply.Next...)
	t.mu.Unlock()
	var text strings.Builder
	if err := sheet.Write(&text, reply, nil); err != nil {
		return err
	}
	_, err := io.WriteString(t.lines, "\n"+text.String()+"\n")
	return err
}

// Posted sets a notice for a file or a pipe: a line that names what it is, the notice, and what is offered with it.
func Posted(w io.Writer, n scheduler.Notice) error {
	whom := "the group"
	if n.Member.Name != "" {
		whom = n.Member.Name
	}
	if _, err := fmt.Fprintf(w, "%s, %s, to %s\n\n", bot.Clean(n.Coop.Name, false), n.Day.Long(), bot.Clean(whom, false)); err != nil {
		return err
	}
	return Sheet{}.Write(w, FromNotice(n), nil)
}
