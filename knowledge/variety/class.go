package variety

import (
	"slices"
	"strings"

	"shortday/knowledge/fault"
)

// Class is a stock kind of variety, for a grower who knows only the season and the form. It has no response weeks and
// no stop key: those belong to a cultivar.
type Class struct {
	Name    string // as typed: "late spray"
	Section int    // NCS (UK), which carries season and form
	Note    string // what sets it apart for cutting
}

// Classes lists the stock classes, late to early: the sections of the NCS (UK) classification [published], each noted
// by common practice. A new class is one more line.
func Classes() []Class {
	return []Class{
		{"late large exhibition", 1, "one or two very large blooms; under cover"},
		{"late medium exhibition", 2, "one or two large blooms; under cover"},
		{"late incurved", 3, "disbudded, globular; under cover"},
		{"late reflexed", 4, "disbudded; under cover"},
		{"late intermediate", 5, "disbudded; under cover"},
		{"late anemone", 6, "disbudded or natural; under cover"},
		{"late single", 7, "daisy blooms for the Christmas trade; under cover"},
		{"late pompon", 8, "many small blooms; under cover"},
		{"late spray", 9, "centre bud taken; under cover"},
		{"late spider", 10, "spiders, quills and spoons; under cover"},
		{"late other", 11, "any other late form; under cover"},
		{"late charm", 12, "charms and cascades, seldom cut; under cover"},
		{"mid incurved", 13, "disbudded; rain and frost cover"},
		{"mid reflexed", 14, "disbudded; rain and frost cover"},
		{"mid intermediate", 15, "disbudded; rain and frost cover"},
		{"mid single", 17, "rain and frost cover"},
		{"mid pompon", 18, "stands outdoors in mild places"},
		{"mid spray", 19, "centre bud taken; rain and frost cover"},
		{"mid other", 20, "any other mid-season form"},
		{"early charm", 22, "charms and cascades, seldom cut; outdoors"},
		{"early incurved", 23, "disbudded; outdoors"},
		{"early reflexed", 24, "disbudded; outdoors"},
		{"early intermediate", 25, "disbudded; outdoors"},
		{"early anemone", 26, "disbudded or natural; outdoors"},
		{"early single", 27, "outdoors"},
		{"early pompon", 28, "many small blooms; outdoors"},
		{"early spray", 29, "centre bud taken; outdoors"},
		{"early other", 30, "any other early form; outdoors"},
	}
}

// ReadClass finds a stock class by its name, or by a season and a form in either order: "late spray", "incurves, mid".
func ReadClass(text string) (Class, error) {
	classes := Classes()
	folded := Fold(text)
	if i := slices.IndexFunc(classes, func(c Class) bool { return c.Name == folded }); i >= 0 {
		return classes[i], nil
	}
	if s := readSeasonForm(folded); !s.IsZero() {
		if i := slices.IndexFunc(classes, func(c Class) bool { return c.Section == s.Number }); i >= 0 {
			return classes[i], nil
		}
	}
	names := make([]string, len(classes))
	for i, c := range classes {
		names[i] = c.Name
	}
	near := Near(text, names, 3)
	if folded == "" || len(near) == 0 {
		near = []string{"late spray", "mid incurved", "early reflexed"}
	}
	return Class{}, fault.New(fault.Missing, "There is no class %q; give a season and a form, such as %s.", text, quoted(near))
}

func readSeasonForm(folded string) Section {
	words := strings.Fields(strings.ReplaceAll(folded, ",", " "))
	for i, w := range words {
		season, err := ReadSeason(w)
		if err != nil {
			continue
		}
		rest := strings.Join(slices.Delete(slices.Clone(words), i, i+1), " ")
		if form, err := ReadForm(rest); err == nil {
			return SectionOf(season, form)
		}
	}
	return Section{}
}

// Variety starts a variety of the class, without a name. What the class does not fix is left to the methods' defaults.
func (c Class) Variety() Variety {
	s := Section{Number: c.Section}
	return Variety{Season: s.Season(), Form: s.Form(), Section: s}
}
