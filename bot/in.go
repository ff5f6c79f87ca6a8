package bot

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// In is an Ask on its way to a handler: its fields read by kind. The first fault is kept, after which every accessor
// gives the zero value, so that a handler reads all its fields and then asks Err once. A field left out gives zero too.
type In struct {
	Ask
	Standing
	request Request
	err     error
}

// Err gives the first fault, nil when there was none.
func (in *In) Err() error { return in.err }

// Fail keeps a fault, if it is the first.
func (in *In) Fail(err error) {
	if in.err == nil {
		in.err = err
	}
}

// Has reports whether a field was filled in.
func (in *In) Has(field string) bool { return has(in.Fields, field) }

// Text gives a field as typed, trimmed and without control characters; only a long text keeps its lines.
func (in *In) Text(field string) string {
	f, text := in.raw(field)
	n := utf8.RuneCountInString(text)
	if most := f.Longest(); n > most {
		in.unclear("The %s may have %d characters at most; this has %d. Shorten it and send it again.", field, most, n)
	}
	if (f.Kind == TextKind || f.Kind == LongTextKind) && f.Min != nil && n > 0 && float64(n) < *f.Min {
		in.unclear("The field %s takes at least %.0f characters. Make it longer and send it again.", field, *f.Min)
	}
	return text
}

// Whole gives a whole number within the field's bounds. What the field counts may stand after it.
func (in *In) Whole(field string) int {
	f, text := in.raw(field)
	if text == "" {
		return 0
	}
	x, ok := f.parse(text)
	if n := int(x); ok && float64(n) == x && in.within(f, x, text) {
		return n
	}
	in.unclear("%q is no whole number. Write the %s as in %s:12.", text, field, field)
	return 0
}

// Number gives a number within the field's bounds. A per cent sign after it changes nothing.
func (in *In) Number(field string) float64 {
	f, text := in.raw(field)
	if text == "" {
		return 0
	}
	x, ok := f.parse(strings.TrimSpace(strings.TrimSuffix(text, "%")))
	if !ok {
		in.unclear("%q is no number. Write the %s as in %s:7.5.", text, field, field)
		return 0
	}
	if !in.within(f, x, text) {
		return 0
	}
	return x
}

// Temperature gives degrees Celsius; a number without a unit is in the asker's. Bounds are in °C.
func (in *In) Temperature(field string) float64 {
	return in.measure(field, "°F", in.Fahrenheit, temperatures, in.WriteTemperature)
}

// Length gives centimetres; a number without a unit is in the asker's. Bounds are in centimetres.
func (in *In) Length(field string) float64 {
	return in.measure(field, "in", in.Inches, lengths, in.WriteLength)
}

// Yes gives whether a field says yes.
func (in *In) Yes(field string) bool {
	_, text := in.raw(field)
	yes, ok := yesNo[strings.ToLower(text)]
	if text != "" && !ok {
		in.unclear("%q is neither yes nor no. Write %s:yes or %s:no.", text, field, field)
	}
	return yes
}

// Choice gives the value of the choice that was named by its value, its label or another word for it.
func (in *In) Choice(field string) string {
	f, text := in.raw(field)
	if text == "" {
		return ""
	}
	var values, may []string
	for _, c := range f.Choices {
		if strings.EqualFold(text, c.Value) || strings.EqualFold(text, c.Label) {
			return c.Value
		}
		if slices.ContainsFunc(c.Also, func(word string) bool { return strings.EqualFold(text, word) }) {
			may = append(may, c.Value)
		}
		values = append(values, c.Value)
	}
	switch len(may) {
	case 0:
	case 1:
		return may[0]
	default:
		in.unclear("%q may be %s. Write which as in %s:%s.", text, or(may), field, may[0])
		return ""
	}
	in.unclear("%q is no %s. %sWrite one of %s.", text, field, meant(text, values, ""), strings.Join(values, ", "))
	return ""
}

// Day gives a day, read by the field's Sense.
func (in *In) Day(field string) calendar.Day {
	f, text := in.raw(field)
	if text == "" {
		return 0
	}
	day, err := in.Reader(in.Today()).Read(text, f.Sense)
	if err != nil {
		in.Fail(err)
	}
	return day
}

// Annual gives a day of the year; what was typed as "none" is none, and Has tells it from a field left out.
func (in *In) Annual(field string) calendar.Annual {
	_, text := in.raw(field)
	if text == "" {
		return calendar.Annual{}
	}
	day, err := in.Reader(in.Today()).ReadAnnual(text)
	if err != nil {
		in.Fail(err)
	}
	return day
}

// Take reads a field by a function of the handler's own. The function is not called for a field left out.
func Take[T any](in *In, field string, read func(text string) (T, error)) T {
	var none T
	text := in.Text(field)
	if text == "" || in.err != nil {
		return none
	}
	value, err := read(text)
	if err != nil {
		in.Fail(err)
		return none
	}
	return value
}

// As gives another request of the same asker, as a line of a list stands for one. A required field that it lacks is its
// first fault.
func (in *In) As(path string, r Request, fields []Entry) *In {
	again := in.Ask
	again.Request, again.Fields = path, fields
	as := &In{Ask: again, Standing: in.Standing, request: r}
	if missing := r.Missing(fields); len(missing) > 0 {
		as.Fail(tellMe(path, missing))
	}
	return as
}

// raw gives the field with its text, "" once there is a fault. A field the request does not have is a wrong program.
func (in *In) raw(name string) (Field, string) {
	f, ok := in.request.Field(name)
	if !ok {
		panic("bot: " + in.Request + " has no field " + name)
	}
	if in.err != nil {
		return f, ""
	}
	for _, e := range in.Fields {
		if e.Field == name {
			return f, Clean(e.Text, f.Kind == LongTextKind)
		}
	}
	return f, ""
}

// Clean drops what cannot be seen and could disturb a reply: control characters, and marks that turn writing around.
// Any white space becomes a blank; line ends stay where lines are wanted. The ends are trimmed.
func Clean(text string, lines bool) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		switch {
		case r == '\n' && lines:
			return r
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, text))
}

func (in *In) within(f Field, x float64, text string) bool {
	switch {
	case f.Min != nil && x < *f.Min:
		in.unclear("The field %s takes at least %s; %s is less. Change it and send it again.", f.Name, exact(*f.Min), text)
	case f.Max != nil && x > *f.Max:
		in.unclear("The field %s takes at most %s; %s is more. Change it and send it again.", f.Name, exact(*f.Max), text)
	}
	return in.err == nil
}

func (in *In) unclear(format string, args ...any) { in.Fail(fault.New(fault.Unclear, format, args...)) }

var yesNo = map[string]bool{
	"yes": true, "y": true, "true": true, "on": true, "1": true,
	"no": false, "n": false, "false": false, "off": false, "0": false,
}
