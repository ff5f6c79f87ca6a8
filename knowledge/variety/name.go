package variety

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"shortday/knowledge/fault"
)

// MaxName is how many characters a name may have; marks set on a letter do not count.
const MaxName = 60

// CleanName trims a name, makes one space of several, composes its accents (NFC) and refuses what could break a reply
// or hide in it: control, format and zero-width characters, direction overrides, line separators, unassigned ones.
func CleanName(text string) (string, error) {
	if !utf8.ValidString(text) {
		return "", fault.New(fault.Unclear, "This name is not readable text; type it again.")
	}
	name := norm.NFC.String(strings.Join(strings.FieldsFunc(norm.NFC.String(strings.TrimSpace(text)), isBlank), " "))
	first, _ := utf8.DecodeRuneInString(name)
	switch {
	case name == "":
		return "", fault.New(fault.Unclear, "The name is empty; give one of 1 to %d characters.", MaxName)
	case utf8.RuneCountInString(name)-characters(name) > MaxName:
		return "", fault.New(fault.Unclear, "The name carries more accents than can be read; type it again with fewer.")
	case strings.ContainsFunc(name, isUnseen):
		return "", fault.New(fault.Unclear, "The name holds a character that cannot be seen; type it again without.")
	case unicode.IsMark(first):
		return "", fault.New(fault.Unclear, "The name begins with an accent that stands on no letter; begin it with a letter.")
	case characters(name) > MaxName:
		return "", fault.New(fault.Unclear, "The name is %d characters long; shorten it to %d.", characters(name), MaxName)
	}
	return name, nil
}

// FitName makes what is called a name elsewhere one that CleanName takes: what cannot be seen is left out, what is too
// long is cut. Where nothing is left it gives otherwise.
func FitName(text, otherwise string) string {
	seen := strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case isUnseen(r):
			return -1
		}
		return r
	}, norm.NFC.String(text))
	var fit strings.Builder
	letters, marks, onOne := 0, 0, 0
	for _, r := range seen {
		if unicode.IsMark(r) {
			if marks, onOne = marks+1, onOne+1; marks > MaxName || onOne > mostMarks {
				continue
			}
		} else if letters, onOne = letters+1, 0; letters > MaxName {
			break
		}
		fit.WriteRune(r)
	}
	name := strings.TrimLeftFunc(fit.String(), func(r rune) bool { return unicode.IsMark(r) || unicode.IsSpace(r) })
	if name, err := CleanName(name); err == nil {
		return name
	}
	return otherwise
}

// mostMarks is how many marks FitName leaves on one letter; no writing sets more.
const mostMarks = 4

// isBlank reports a space of any width; TAB and line ends are not: they are refused inside a name.
func isBlank(r rune) bool { return unicode.Is(unicode.Zs, r) }

func isUnseen(r rune) bool {
	return !unicode.IsGraphic(r) || unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r) || r == '\u2800'
}

func characters(name string) int {
	n := 0
	for _, r := range name {
		if !unicode.IsMark(r) {
			n++
		}
	}
	return n
}

// strokes are the letters that Unicode does not take apart, and the marks that keyboards and books set differently.
var strokes = strings.NewReplacer("ø", "o", "ł", "l", "đ", "d", "ħ", "h", "ı", "i", "æ", "ae", "œ", "oe",
	"’", "'", "‘", "'", "ʼ", "'", "`", "'", "“", `"`, "”", `"`, "‐", "-", "‑", "-", "–", "-", "—", "-")

// Fold gives the key by which names compare: without case, accents, width or doubled spaces. It is not for showing.
func Fold(name string) string {
	folded := strings.ToLower(cases.Fold().String(strip(name))) // lower: x/text folds Cherokee both ways
	return strings.Join(strings.Fields(norm.NFC.String(strokes.Replace(strip(folded)))), " ")
}

// strip takes letters apart (NFKD) and their accents off. The voicing marks of kana stay: they make another letter.
func strip(text string) string {
	return strings.Map(func(r rune) rune {
		accent := unicode.Is(unicode.Mn, r) && unicode.Is(unicode.Inherited, r)
		if accent && r != '\u3099' && r != '\u309A' {
			return -1
		}
		return r
	}, norm.NFKD.String(text))
}

// Near gives the names that name may stand for, at most limit: first those that begin with it, then those with a word
// that does, then those a few letters off; equally near ones by their spelling. It serves completion and "did you mean".
func Near(name string, among []string, limit int) []string {
	type candidate struct {
		name string
		far  int
	}
	key := Fold(name)
	var found []candidate
	for _, other := range among {
		if far, near := distance(key, Fold(other)); near {
			found = append(found, candidate{other, far})
		}
	}
	slices.SortStableFunc(found, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.far, b.far), cmp.Compare(a.name, b.name))
	})
	names := make([]string, 0, max(0, min(limit, len(found))))
	for _, c := range found[:cap(names)] {
		names = append(names, c.name)
	}
	return names
}

// distance ranks a folded name against what was typed: 0 the same, 1 a beginning, 2 a word's beginning, else 2 more
// than the letters that differ, of which a quarter of the name may.
func distance(key, other string) (far int, near bool) {
	switch {
	case key == other:
		return 0, true
	case strings.HasPrefix(other, key):
		return 1, true
	case strings.Contains(other, " "+key):
		return 2, true
	}
	a, b := []rune(key), []rune(other)
	allowed := max(1, len(a)/4)
	if len(a) < 3 || len(a)-len(b) > allowed || len(b)-len(a) > allowed {
		return 0, false
	}
	d := Edits(key, other)
	return 2 + d, d <= allowed
}

// Edits counts the letters put in, left out, changed, or swapped with a neighbour (optimal string alignment).
func Edits(s, t string) int {
	a, b := []rune(s), []rune(t)
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := range a {
		row[0] = i + 1
		for j := range b {
			changed := last[j]
			if a[i] != b[j] {
				changed++
			}
			row[j+1] = min(last[j+1]+1, row[j]+1, changed)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
