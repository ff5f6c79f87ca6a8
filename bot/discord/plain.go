package discord

import (
	"regexp"
	"strings"
	"unicode/utf16"

	"github.com/rivo/uniseg"
)

// nothing is a character that takes no room; it parts what would otherwise do something.
const nothing = "\u200b"

var (
	markup = strings.NewReplacer(`\`, `\\`, `*`, `\*`, `_`, `\_`, `~`, `\~`, "`", "\\`", `|`, `\|`, `[`, `\[`, `]`, `\]`, `<`, `\<`, `@`, "@"+nothing)
	link   = regexp.MustCompile(`(?i)(https?|discord|ftp|steam|mailto|tel|sms)(:)`)
	invite = regexp.MustCompile(`(?i)(discord)(\.(?:gg|com|app|me))`)
)

// plain writes a text so that Discord shows it as it is: markdown, mentions and links in it do nothing.
func plain(text string) string {
	text = markup.Replace(text)
	if strings.Contains(text, ":") {
		text = link.ReplaceAllString(text, "$1"+nothing+"$2")
	}
	if strings.Contains(text, ".") {
		text = invite.ReplaceAllString(text, "$1"+nothing+"$2")
	}
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		lines[i] = inline(line)
	}
	return strings.Join(lines, "\n")
}

// inline keeps a line from beginning a heading, a quotation or a list.
func inline(line string) string {
	rest := strings.TrimLeft(line, " \t\r\f")
	past := strings.TrimLeft(rest, "0123456789")
	switch {
	case rest != "" && strings.IndexByte("-#>+", rest[0]) >= 0:
		past = rest
	case past == rest || !strings.HasPrefix(past, "."):
		return line
	}
	return line[:len(line)-len(past)] + `\` + past
}

// fenced writes lines in a block of even letters, which nothing in them can end.
func fenced(lines string) string {
	return "```\n" + strings.ReplaceAll(lines, "`", "`"+nothing) + "\n```"
}

// length counts as Discord's strictest client does, in UTF-16 units.
func length(s string) int {
	n := 0
	for _, r := range s {
		n += utf16.RuneLen(r)
	}
	return n
}

// shorten cuts a text to so many units with a sign that it was cut, never within a character.
func shorten(s string, most int) string {
	if length(s) <= most {
		return s
	}
	var b strings.Builder
	n := 1 // the sign
	for g := uniseg.NewGraphemes(s); g.Next(); {
		if n += length(g.Str()); n > most {
			break
		}
		b.WriteString(g.Str())
	}
	return strings.TrimRight(b.String(), " ") + "…"
}

// split parts a text into pieces of at most so many units, at an empty line if possible, else at a line's end, a blank
// or anywhere between characters.
func split(text string, most int) []string {
	var pieces []string
	for length(text) > most {
		cut := fit(text, most)
		for _, at := range []string{"\n\n", "\n", " "} {
			if i := strings.LastIndex(text[:cut], at); i > cut/2 {
				cut = i
				break
			}
		}
		pieces = append(pieces, strings.TrimRight(text[:cut], " \n"))
		text = strings.TrimLeft(text[cut:], " \n")
	}
	return append(pieces, text)
}

// fit gives how many bytes of a text make at most so many units, by whole characters; at least one character.
func fit(text string, most int) int {
	bytes, n := 0, 0
	for g := uniseg.NewGraphemes(text); g.Next(); {
		if n += length(g.Str()); n > most && bytes > 0 {
			break
		}
		bytes += len(g.Str())
	}
	return bytes
}
