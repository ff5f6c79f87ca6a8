package register

import (
	"fmt"
	"strings"

	"shortday/knowledge/crop"
	"shortday/knowledge/health"
)

// Words tells the way from a suspect to where the pest was seen, as a reader understands it: "your 12 pots 27-9 ← tray
// 27-3 of March 2027 ← box 26-1 of November 2026". An arrow points the way that plants went. Other members are named
// only where names says so.
func (s Suspect) Words(reader int64, names bool) string {
	var b strings.Builder
	for i := len(s.Path) - 1; i >= 0; i-- {
		b.WriteString(hopWords(s.Path[i].Plants, reader, names))
		if i == 0 {
			break
		}
		switch tie := s.Path[i].By; {
		case tie.Manner == health.Beside:
			b.WriteString(" beside ")
		case tie.To == s.Path[i].Plants.ID:
			b.WriteString(" ← ")
		default:
			b.WriteString(" → ")
		}
	}
	return b.String()
}

// hopWords names one batch of a path.
func hopWords(b Batch, reader int64, names bool) string {
	what := holder(b) + " " + b.Mark
	if b.Member == reader && b.Live() {
		return "your " + what
	}
	what += " of " + b.Made.UTC().Format("January 2006")
	switch {
	case b.Member == reader:
		return "your " + what
	case b.Member == 0:
		return what + " (its member left)"
	case names:
		return what + " (" + b.Owner + ")"
	}
	return what + " (another member's)"
}

// holder names a batch by what it stands in.
func holder(b Batch) string {
	switch b.Stage {
	case crop.Boxed, crop.Woken:
		return "box"
	case crop.Taken, crop.Struck:
		return "tray"
	case crop.Potted:
		return numbered(b, "pot", "pots")
	}
	return numbered(b, "plant", "plants")
}

func numbered(b Batch, one, many string) string {
	switch {
	case !b.Live():
		return many
	case b.Count == 1:
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", b.Count, many)
}
