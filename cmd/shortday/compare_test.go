package main

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"shortday/bot"
	"shortday/bot/discord/discordtest"
)

// compare looks that all a reply says stands in what Discord shows.
func (d *duet) compare(who string, asked *discordtest.Interaction, reply bot.Reply) error {
	first, err := asked.Wait()
	if err != nil {
		return err
	}
	wanted := said(reply)
	for tries := 0; ; tries++ {
		more, _ := asked.FollowUps(tries, 50*time.Millisecond)
		messages := append([]discordtest.Message{first}, more...)
		d.last[who] = messages[len(messages)-1]
		err = lacks(wanted, reply, messages, asked.Deferred())
		if err == nil || tries == 20 {
			return err
		}
	}
}

// said gives the pieces of a reply.
func said(r bot.Reply) (pieces []string) {
	pieces = append(pieces, r.Title)
	if r.Refusal != nil {
		pieces = append(pieces, r.Refusal.Text)
	}
	pieces = append(pieces, strings.Split(r.Text, "\n")...)
	for _, row := range r.Rows.Rows {
		for _, cell := range row {
			if !cell.IsNone() {
				pieces = append(pieces, cell.String())
			}
		}
	}
	return pieces
}

// lacks says what of a reply does not stand in the messages.
func lacks(pieces []string, r bot.Reply, messages []discordtest.Message, deferred bool) error {
	var all strings.Builder
	var labels, files []string
	for _, m := range messages {
		all.WriteString(m.Text() + "\n")
		for _, c := range m.Buttons() {
			labels = append(labels, c.Label)
			for _, o := range c.Options {
				labels = append(labels, o.Label)
			}
		}
		for _, a := range m.Attachments {
			files = append(files, a.Filename)
			if strings.HasPrefix(a.ContentType, "text/") {
				_, _ = all.Write(a.Data)
			}
		}
	}
	for _, i := range r.Instants {
		if mark := fmt.Sprintf("<t:%d:F>", i.At.Unix()); !strings.Contains(all.String(), mark) {
			return fmt.Errorf("Discord does not show %s by the reader's own clock, as %s:\n%s", i, mark, all.String())
		}
	}
	shown := letters(stamp.ReplaceAllString(all.String(), ""))
	for _, piece := range pieces {
		if !strings.Contains(shown, letters(piece)) {
			return fmt.Errorf("Discord does not show %q:\n%s", piece, all.String())
		}
	}
	for _, n := range r.Next {
		if !slices.ContainsFunc(labels, func(label string) bool { return same(label, n.Label) }) {
			return fmt.Errorf("Discord does not offer %q: %q", n.Label, labels)
		}
	}
	if len(files) < len(r.Files) {
		return fmt.Errorf("Discord carries %q of %d files", files, len(r.Files))
	}
	if r.Private != messages[0].Private && !deferred {
		return fmt.Errorf("private is %t in Discord:\n%s", messages[0].Private, all.String())
	}
	return nil
}

// letters leaves of a text what no way of setting it changes.
func letters(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, text)
}

// same tells whether a label is another, which a platform may have shortened.
func same(shown, label string) bool {
	cut, shortened := strings.CutSuffix(shown, "…")
	return shown == label || shortened && strings.HasPrefix(label, cut)
}
