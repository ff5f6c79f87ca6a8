package listing

import (
	"bytes"
	"strings"
	"unicode"
)

// Write gives a list as every spreadsheet opens it: UTF-8 with its mark, commas, CR LF. What a spreadsheet would take
// for a formula gets an apostrophe before it, which Read takes off again.
func Write(head []string, rows [][]string) []byte {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	writeRow(&b, head)
	for _, row := range rows {
		writeRow(&b, row)
	}
	return b.Bytes()
}

func writeRow(b *bytes.Buffer, cells []string) {
	for i, cell := range cells {
		if i > 0 {
			b.WriteByte(',')
		}
		cell = safe(strings.ToValidUTF8(cell, "\ufffd"))
		if strings.ContainsAny(cell, "\",;|\t\r\n") || strings.TrimSpace(cell) != cell {
			cell = `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
		}
		b.WriteString(cell)
	}
	b.WriteString("\r\n")
}

// triggers begin what spreadsheets reckon, the wide forms in some languages.
const triggers = "=+-@＝＋－＠"

// IsFormula reports whether a spreadsheet could take a cell for something to reckon.
func IsFormula(cell string) bool {
	cell = strings.TrimLeftFunc(cell, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) })
	first := []rune(cell[:min(len(cell), 4)])
	return len(first) > 0 && strings.ContainsRune(triggers, first[0])
}

// safe puts an apostrophe before a formula, and before one that has apostrophes already, so that plain undoes it.
func safe(cell string) string {
	if IsFormula(strings.TrimLeft(cell, "'")) {
		return "'" + cell
	}
	return cell
}

func plain(cell string) string {
	if rest, ok := strings.CutPrefix(cell, "'"); ok && IsFormula(strings.TrimLeft(rest, "'")) {
		return rest
	}
	return cell
}
