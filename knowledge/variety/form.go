package variety

import (
	"slices"
	"strings"

	"shortday/knowledge/fault"
)

// Form is the flower form, in the words of the NCS (UK) classification. Its text is stored and typed.
type Form string

// The forms of the classification.
const (
	AnyForm          Form = "" // not known
	LargeExhibition  Form = "large exhibition"
	MediumExhibition Form = "medium exhibition"
	Incurved         Form = "incurved"
	Reflexed         Form = "reflexed"
	Intermediate     Form = "intermediate"
	Anemone          Form = "anemone"
	Single           Form = "single"
	Pompon           Form = "pompon"
	Spray            Form = "spray"
	SpiderQuillSpoon Form = "spider, quill, spoon"
	AnyOther         Form = "any other"
	CharmCascade     Form = "charm, cascade"
)

// Forms lists the forms in the order of the classification.
func Forms() []Form {
	forms := make([]Form, len(sections))
	for i, row := range sections {
		forms[i] = row.form
	}
	return forms
}

// spellings are what people write for a form, folded and without hyphens and commas.
var spellings = []struct {
	form  Form
	words string
}{
	{LargeExhibition, "large exhibition|large|large exhibitions|exhibition"},
	{MediumExhibition, "medium exhibition|medium|medium exhibitions"},
	{Incurved, "incurved|incurve|incurves|incurving"},
	{Reflexed, "reflexed|reflex|reflexes|reflexing"},
	{Intermediate, "intermediate|intermediates|intermediate incurve"},
	{Anemone, "anemone|anemones|anemone centred|anemone flowered"},
	{Single, "single|singles|daisy|single flowered"},
	{Pompon, "pompon|pompons|pompom|pompoms|pom pom|pom"},
	{Spray, "spray|sprays|cut spray"},
	{SpiderQuillSpoon, "spider quill spoon|spider|spiders|quill|quills|quilled|spoon|spoons"},
	{AnyOther, "any other|other|others|any other type"},
	{CharmCascade, "charm cascade|charm|charms|cascade|cascades"},
}

// ReadForm reads a form as a grower writes it: its own words, a plural, or one of the kinds it names, in any case.
func ReadForm(text string) (Form, error) {
	folded := Fold(strings.NewReplacer("-", " ", ",", " ").Replace(Fold(text)))
	var words []string
	for _, s := range spellings {
		if slices.Contains(strings.Split(s.words, "|"), folded) {
			return s.form, nil
		}
		words = append(words, string(s.form))
	}
	if near := Near(text, words, 1); folded != "" && len(near) == 1 {
		return AnyForm, fault.New(fault.Unclear, "%q is no flower form; did you mean %q?", text, near[0])
	}
	return AnyForm, fault.New(fault.Unclear, "%q is no flower form; give one of %s.", text, quoted(words))
}

// USForm gives the class of the US National Chrysanthemum Society as printed and the nearest NCS (UK) form, which is
// our own reading of the two lists. Both are empty for a class that is not 1–13.
func USForm(class int) (printed string, nearest Form) {
	if class < 1 || class > len(usClasses) {
		return "", AnyForm
	}
	c := usClasses[class-1]
	return c.printed, c.nearest
}

// usClasses is the classification of the US National Chrysanthemum Society, 1–13; the nearest form is our own.
var usClasses = []struct {
	printed string
	nearest Form
}{
	{"irregular incurve", Incurved},
	{"reflex", Reflexed},
	{"regular incurve", Incurved},
	{"decorative", Reflexed},
	{"intermediate incurve", Intermediate},
	{"pompon", Pompon},
	{"single and semi-double", Single},
	{"anemone", Anemone},
	{"spoon", SpiderQuillSpoon},
	{"quill", SpiderQuillSpoon},
	{"spider", SpiderQuillSpoon},
	{"brush and thistle", AnyOther},
	{"unclassified", AnyOther},
}

func quoted(words []string) string {
	list := make([]string, len(words))
	for i, w := range words {
		list[i] = `"` + w + `"`
	}
	return strings.Join(list, ", ")
}
