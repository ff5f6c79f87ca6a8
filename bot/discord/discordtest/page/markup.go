package page

import (
	"regexp"
	"strconv"
	"strings"
	"time"
)

// naming gives names by a sign (@ a person, & a role, # a channel) and an id.
type naming map[string]string

func (n naming) of(sign, id string) string {
	name := n[sign+id]
	if name == "" {
		name = "somebody or something unknown"
	}
	if sign == "&" {
		sign = "@"
	}
	return sign + name
}

// piece is a run of text that is set in one way.
type piece struct {
	Text               string
	Bold, Slant, Named bool
	Even, Block        bool   // in letters of even width, on lines of its own
	At                 string // the instant, where the text tells one
}

var (
	mention = regexp.MustCompile(`^<(@&|@!?|#)(\d+)>`)
	instant = regexp.MustCompile(`^<t:(-?\d{1,12})(?::[tTdDfFR])?>`)
)

// pieces reads the markup that Discord shows: bold, slanted, even letters, blocks, names and instants. A backslash takes its
// meaning from a sign. All else stands as it is.
func (n naming) pieces(text string) []piece {
	var list []piece
	var run strings.Builder
	var bold, slant bool
	flush := func() {
		if run.Len() > 0 {
			list = append(list, piece{Text: run.String(), Bold: bold, Slant: slant})
			run.Reset()
		}
	}
	for text != "" {
		if one, rest, ok := n.special(text); ok {
			flush()
			list, text = append(list, one), rest
			continue
		}
		switch {
		case len(text) > 1 && text[0] == '\\' && strings.IndexByte("\\*_~`|[]<>#+-.@", text[1]) >= 0:
			run.WriteByte(text[1])
			text = text[2:]
		case strings.HasPrefix(text, "**") && (bold || closes(text[2:], "**")):
			flush()
			bold, text = !bold, text[2:]
		case strings.HasPrefix(text, "**") && !strings.HasPrefix(text, "***"):
			run.WriteString("**")
			text = text[2:]
		case text[0] == '*' && (slant || closes(text[1:], "*")):
			flush()
			slant, text = !slant, text[1:]
		default:
			run.WriteByte(text[0])
			text = text[1:]
		}
	}
	flush()
	return list
}

// special reads what begins with a sign of its own and holds no further markup.
func (n naming) special(text string) (one piece, rest string, ok bool) {
	if inner, rest, ok := between(text, "```"); ok {
		return piece{Text: strings.Trim(inner, "\n"), Even: true, Block: true}, strings.TrimPrefix(rest, "\n"), true
	}
	if inner, rest, ok := between(text, "`"); ok {
		return piece{Text: inner, Even: true}, rest, true
	}
	if m := mention.FindStringSubmatch(text); m != nil {
		sign := map[string]string{"@&": "&", "#": "#"}[m[1]]
		if sign == "" {
			sign = "@"
		}
		return piece{Text: n.of(sign, m[2]), Named: true}, text[len(m[0]):], true
	}
	if m := instant.FindStringSubmatch(text); m != nil {
		seconds, err := strconv.ParseInt(m[1], 10, 64)
		at := time.Unix(seconds, 0)
		return piece{Text: at.Format("Mon 2 Jan 2006 15:04"), At: at.UTC().Format(time.RFC3339)}, text[len(m[0]):], err == nil
	}
	return piece{}, text, false
}

// between gives what stands between two signs at the beginning.
func between(text, sign string) (inner, rest string, ok bool) {
	text, ok = strings.CutPrefix(text, sign)
	if !ok {
		return "", "", false
	}
	inner, rest, ok = strings.Cut(text, sign)
	return inner, rest, ok && inner != ""
}

// closes tells whether an opening sign is closed later, unescaped.
func closes(text, sign string) bool {
	for text != "" {
		switch {
		case text[0] == '\\' && len(text) > 1:
			text = text[2:]
		case strings.HasPrefix(text, sign):
			return true
		default:
			text = text[1:]
		}
	}
	return false
}
