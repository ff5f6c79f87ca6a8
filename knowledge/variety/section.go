package variety

import (
	"regexp"
	"strconv"

	"shortday/knowledge/fault"
)

// Section is a section of the NCS (UK) classification with its letter, as in 25b. The zero Section is not known.
type Section struct {
	Number int    // 1–30, without 16 and 21
	Letter string // lower case as printed; empty if none
}

// sections is the classification of the National Chrysanthemum Society (UK): the section of each form by natural
// bloom in November, October and September; 0 where there is none.
var sections = []struct {
	form             Form
	late, mid, early int
}{
	{LargeExhibition, 1, 0, 0},
	{MediumExhibition, 2, 0, 0},
	{Incurved, 3, 13, 23},
	{Reflexed, 4, 14, 24},
	{Intermediate, 5, 15, 25},
	{Anemone, 6, 0, 26},
	{Single, 7, 17, 27},
	{Pompon, 8, 18, 28},
	{Spray, 9, 19, 29},
	{SpiderQuillSpoon, 10, 0, 0},
	{AnyOther, 11, 20, 30},
	{CharmCascade, 12, 0, 22},
}

// letters names the sub-sections by form, from memory; a letter that is not here is kept and means nothing to us.
var letters = map[Form][]string{
	Incurved:     {"large", "medium", "small"},
	Reflexed:     {"large", "medium", "small"},
	Intermediate: {"large", "medium", "small"},
	Single:       {"large", "medium"},
	Pompon:       {"true pompon", "semi-pompon"},
	Spray:        {"anemone", "pompon", "reflexed", "single", "intermediate", "other"},
}

// SectionOf gives the section of a form in a season; zero where the classification has none.
func SectionOf(season Season, form Form) Section {
	for _, row := range sections {
		if row.form == form {
			return Section{Number: map[Season]int{Late: row.late, Mid: row.mid, Early: row.early}[season]}
		}
	}
	return Section{}
}

// Season is the natural season that the number carries; AnySeason for a number that does not exist.
func (s Section) Season() Season { season, _ := s.row(); return season }

// Form is the flower form that the number carries; AnyForm for a number that does not exist.
func (s Section) Form() Form { _, form := s.row(); return form }

// Kind is what the letter means, such as "medium" or "single"; empty where there is no letter or it is not known.
func (s Section) Kind() string {
	kinds := letters[s.Form()]
	if len(s.Letter) != 1 {
		return ""
	}
	if i := int(s.Letter[0]) - 'a'; i >= 0 && i < len(kinds) {
		return kinds[i]
	}
	return ""
}

// IsZero reports whether no section is known.
func (s Section) IsZero() bool { return s == Section{} }

// String gives the section as printed, "25b"; empty for the zero Section.
func (s Section) String() string {
	if s.IsZero() {
		return ""
	}
	return strconv.Itoa(s.Number) + s.Letter
}

func (s Section) row() (Season, Form) {
	for _, row := range sections {
		switch {
		case s.Number < 1:
		case s.Number == row.late:
			return Late, row.form
		case s.Number == row.mid:
			return Mid, row.form
		case s.Number == row.early:
			return Early, row.form
		}
	}
	return AnySeason, AnyForm
}

var sectionText = regexp.MustCompile(`^(?:ncs ?)?(?:\(uk\) ?|uk ?)?(?:(?:section|sect|sec|s)\.? ?)?0?(\d{1,2}) ?(?:\(([a-z])\)|([a-z]))?$`)

// ReadSection reads a section as it is printed or typed: "25b", "9 (d)", "NCS 3", "section 29c".
func ReadSection(text string) (Section, error) {
	m := sectionText.FindStringSubmatch(Fold(text))
	if m == nil {
		return Section{}, fault.New(fault.Unclear, "%q is no section of the NCS (UK) classification; write its number and letter, as in 25b or 9d.", text)
	}
	n, err := strconv.Atoi(m[1])
	if err != nil {
		return Section{}, fault.New(fault.Unclear, "%q holds no section number; write it as in 25b.", text).Because(err)
	}
	s := Section{Number: n, Letter: m[2] + m[3]}
	if err := s.check(); err != nil {
		return Section{}, err
	}
	return s, nil
}

func (s Section) check() error {
	switch {
	case s.Number == 16:
		return fault.New(fault.Unclear, "There is no section 16: anemones are 6 (late) and 26 (early). Give one of these, or the season and the form.")
	case s.Number == 21:
		return fault.New(fault.Unclear, "There is no section 21: 20 is any other mid-season form and 22 early charms and cascades. Give one of these, or the season and the form.")
	case s.Season() == AnySeason:
		return fault.New(fault.Unclear, "There is no section %d: they run from 1 to 30 (1–12 late, 13–20 mid, 22–30 early). Give one of these, or the season and the form.", s.Number)
	case len(s.Letter) > 1 || s.Letter != "" && (s.Letter < "a" || s.Letter > "z"):
		return fault.New(fault.Unclear, "A section has one small letter at most, as in 25b, not %q.", s.Letter)
	}
	return nil
}

// Sections lists the numbers of a season in order; those of all seasons for AnySeason.
func Sections(season Season) []int {
	var numbers []int
	for n := 1; n <= 30; n++ {
		if s := (Section{Number: n}).Season(); s != AnySeason && (season == AnySeason || season == s) {
			numbers = append(numbers, n)
		}
	}
	return numbers
}
