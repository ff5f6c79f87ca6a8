package bot

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"shortday/knowledge/fault"
)

// line is a typed request taken apart: the words before the first field, then the fields.
type line struct {
	words  []string
	fields []Entry
}

var (
	fieldStart = regexp.MustCompile(`^(\p{L}[\p{L}\p{N}_-]*)\s*:`)
	plainText  = regexp.MustCompile(`^[\p{L}\p{N}.+-][\p{L}\p{N}.,+/-]*$`)
	unescape   = strings.NewReplacer(`\\`, `\`, `\"`, `"`, `\n`, "\n")
	escape     = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`)
)

// split takes a line apart. A value runs to the next "name:" unless it is quoted, so that "bloom:5 nov" needs no quotes.
func split(text string) (line, error) {
	var l line
	open := false // whether further words belong to the last field
	for rest := strings.TrimSpace(text); rest != ""; rest = strings.TrimLeftFunc(rest, unicode.IsSpace) {
		if m := fieldStart.FindStringSubmatch(rest); m != nil {
			l.fields = append(l.fields, Entry{Field: strings.ToLower(m[1])})
			rest = strings.TrimLeftFunc(rest[len(m[0]):], unicode.IsSpace)
			open = true
			if isQuote(rest) {
				value, after, ok := quoted(rest)
				if !ok {
					return line{}, fault.New(fault.Unclear, "The quote after %s: is not closed. Close it with another one and send it again.", m[1])
				}
				l.fields[len(l.fields)-1].Text, rest, open = value, after, false
			}
			continue
		}
		word, after := cutWord(rest)
		rest = after
		if err := l.take(word, open); err != nil {
			return line{}, err
		}
	}
	return l, nil
}

func (l *line) take(word string, open bool) error {
	switch last := len(l.fields) - 1; {
	case last < 0:
		l.words = append(l.words, word)
	case open:
		l.fields[last].Text = strings.TrimSpace(l.fields[last].Text + " " + word)
	default:
		return fault.New(fault.Unclear, "%q after the quoted %s belongs to no field. Write the field's name and a colon before it.",
			word, l.fields[last].Field)
	}
	return nil
}

func cutWord(text string) (word, rest string) {
	if end := strings.IndexFunc(text, unicode.IsSpace); end >= 0 {
		return text[:end], text[end:]
	}
	return text, ""
}

const typographic = "“”„«»"

func isQuote(text string) bool {
	r, _ := utf8.DecodeRuneInString(text)
	return r == '"' || strings.ContainsRune(typographic, r)
}

// quoted reads a quoted value. A straight quote is closed by a straight one; where there is none, and for a
// typographic one, any quote closes, since telephones change them while one types.
func quoted(text string) (value, rest string, ok bool) {
	first, size := utf8.DecodeRuneInString(text)
	body := text[size:]
	if first == '"' {
		if value, rest, ok = closedBy(body, `"`); ok {
			return value, rest, true
		}
	}
	return closedBy(body, `"`+typographic)
}

func closedBy(body, quotes string) (value, rest string, ok bool) {
	escaped := false
	for i, r := range body {
		switch {
		case escaped:
			escaped = false
		case r == '\\':
			escaped = true
		case strings.ContainsRune(quotes, r):
			return unescape.Replace(body[:i]), body[i+utf8.RuneLen(r):], true
		}
	}
	return "", "", false
}

func write(request string, fields []Entry) string {
	var b strings.Builder
	b.WriteString(request)
	for _, f := range fields {
		b.WriteString(" " + f.Field + ":")
		if plainText.MatchString(f.Text) {
			b.WriteString(f.Text)
		} else {
			b.WriteString(`"` + escape.Replace(f.Text) + `"`)
		}
	}
	return b.String()
}
