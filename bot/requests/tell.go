package requests

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"shortday/knowledge/register"
)

// prose is a reply's text in the making.
type prose []string

// add adds a paragraph; an empty one is left out.
func (p *prose) add(format string, args ...any) {
	if text := strings.TrimSpace(fmt.Sprintf(format, args...)); text != "" {
		*p = append(*p, text)
	}
}

func (p prose) String() string { return strings.Join(p, "\n\n") }

// some lists the first few of many words, and says how many more there are.
func some(words []string, most int) string {
	if len(words) <= most {
		return listed(words)
	}
	return fmt.Sprintf("%s and %d more", strings.Join(words[:most], ", "), len(words)-most)
}

// upper begins a sentence.
func upper(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// titleOf begins the title of what belongs to another member than the asker.
func titleOf(seat register.Seat, own register.Member) string {
	if own.ID == seat.Member.ID {
		return ""
	}
	return own.Name + ": "
}

// movedWords tells which open jobs a deed moved: the member's own by day, others' by how many members they are of.
func movedWords(moves []register.Move, own int64, pinch bool) string {
	var mine []string
	others := map[int64]bool{}
	for _, m := range moves {
		if m.Member != own {
			others[m.Member] = true
			continue
		}
		mine = append(mine, fmt.Sprintf("%s from %s to %s", m.Kind.Name(pinch), m.From.Annual(), m.To.Annual()))
	}
	var told []string
	if len(mine) > 0 {
		told = append(told, "Moved: "+some(mine, 4)+".")
	}
	if len(others) > 0 {
		told = append(told, "Open jobs of "+plural(len(others), "other member move", "other members move")+" with it.")
	}
	return sentences(told)
}

// bloomMoved tells how a deed moved a plan's bloom, "" where it did not.
func bloomMoved(before, after register.Plan) string {
	switch was, is := before.Bloom, after.Bloom; {
	case is.IsZero() || is == was:
		return ""
	case was.IsZero():
		return fmt.Sprintf("Bloom is now expected about %s.", is)
	case was.Likely == is.Likely:
		return fmt.Sprintf("Bloom stays about %s.", is)
	default:
		days := is.Likely.Sub(was.Likely)
		way := "later"
		if days < 0 {
			days, way = -days, "earlier"
		}
		return fmt.Sprintf("Bloom now about %s, %s %s than before.", is, plural(days, "day", "days"), way)
	}
}

// batchWords tells how a batch stands: "27-3: 38 potted, bench 2".
func batchWords(b register.Batch) string {
	if !b.Live() {
		return b.Mark + ": none left"
	}
	text := b.Mark + ": " + count(b.Count, string(b.Stage))
	if b.Spot != "" {
		text += ", " + b.Spot
	}
	return text
}
