package bot

import (
	"context"
	"slices"
	"strings"

	"shortday/knowledge/calendar"
)

// Family is a group of requests under one name. All that the platforms show of them is made from this value.
type Family struct {
	Name     string // without the slash
	Help     string // up to 100 characters
	Requests []Request
}

// Request is one thing that can be asked. A family's only request may have no name: it is then asked by the family's.
type Request struct {
	Name     string
	Help     string   // up to 100 characters: what it does, without a full stop
	Examples []string // as one would type them, whole
	Fields   []Field  // the required ones first
	Right    Right
	// Form names the fields, five at most, that a platform with forms asks for together when nothing is told yet.
	Form []string
	// Anywhere says that it is answered without a co-op too, as in a direct message to someone who belongs to none.
	Anywhere bool
	// Confirm is a question put before the request is done; it is then done when asked again with sure:yes.
	Confirm string
	Handle  func(ctx context.Context, in *In) (Reply, error)
}

// Field is one thing a request is told.
type Field struct {
	Name     string
	Help     string // up to 100 characters, a phrase that can follow the name: "how many plants"
	Kind     Kind
	Required bool
	// Instead says that with this field the required ones are not needed: a list tells what they would.
	Instead bool
	// Bare says that words typed before any field are this field's: "/guide when to stop".
	Bare    bool
	Choices []Choice
	// Also is another name under which it is understood when typed, such as one that another request has for the like.
	Also string
	// Counts names what a number counts, one each and in small letters: it may be typed after the number, as in "5 stools".
	Counts []string
	// Min and Max bound a number, or the characters of a text. Nil is no bound; for the length of a text it is Longest.
	Min, Max *float64
	// Sense is how a day without a year is read.
	Sense calendar.Sense
	// Complete offers values for what was typed so far, the likeliest first; it may give more than are shown.
	Complete func(ctx context.Context, in *In, typed string) ([]Choice, error)
}

// Choice is a value one can pick, under the label that people read.
type Choice struct {
	Label, Value string
	// Also are other words for it that are understood when typed; a word of several choices asks which is meant.
	Also []string
}

// Choices makes choices whose labels are their values.
func Choices(values ...string) []Choice {
	choices := make([]Choice, len(values))
	for i, value := range values {
		choices[i] = Choice{Label: value, Value: value}
	}
	return choices
}

// Kind is what a field's text is read as.
type Kind string

// The kinds of field. A thing named, a member, a channel and a role are read with In.Text; what they name is the handler's to
// find. A file is sent along, or in a terminal named by its path.
const (
	TextKind        Kind = "text"
	LongTextKind    Kind = "long text" // may have several lines
	WholeKind       Kind = "whole number"
	NumberKind      Kind = "number"
	YesKind         Kind = "yes or no"
	ChoiceKind      Kind = "choice"
	DayKind         Kind = "day"
	AnnualKind      Kind = "day of the year"
	TemperatureKind Kind = "temperature"
	LengthKind      Kind = "length"
	NamedKind       Kind = "name" // of a thing in the register
	MemberKind      Kind = "member"
	ChannelKind     Kind = "channel"
	RoleKind        Kind = "role" // of a chat server
	FileKind        Kind = "file"
)

// Right is what the asker must be. Each includes those before it.
type Right int

// The rights.
const (
	Anyone Right = iota
	Member
	Steward
)

// Path is how a request of the family is asked: "/stock add", or "/help" for one without a name.
func (f Family) Path(r Request) string { return strings.TrimSpace("/" + f.Name + " " + r.Name) }

// Field gives the field of a name.
func (r Request) Field(name string) (Field, bool) {
	for _, f := range r.Fields {
		if f.Name == name {
			return f, true
		}
	}
	return Field{}, false
}

// Longest gives how many characters a text may have: Max where the field has one, else 200, of a long text 4000.
func (f Field) Longest() int {
	switch {
	case f.Max != nil && (f.Kind == TextKind || f.Kind == LongTextKind):
		return int(*f.Max)
	case f.Kind == LongTextKind:
		return 4000
	default:
		return 200
	}
}

// Needs reports whether a field has to be filled in, whatever else is.
func (r Request) Needs(f Field) bool {
	return f.Required && !slices.ContainsFunc(r.Fields, func(other Field) bool { return other.Instead })
}

// AskDay stands for a day in a request that is offered: it is asked for when that is taken, though it could be left out.
const AskDay = "?"

// Missing gives the fields that have to be filled in and were not, in order: those required, and days to be asked for.
func (r Request) Missing(filled []Entry) []Field {
	var missing []Field
	for _, f := range r.Fields {
		if f.Instead && has(filled, f.Name) {
			return nil
		}
		if f.Required && !has(filled, f.Name) || f.Kind == DayKind && slices.Contains(filled, Entry{Field: f.Name, Text: AskDay}) {
			missing = append(missing, f)
		}
	}
	return missing
}

func has(entries []Entry, field string) bool {
	for _, e := range entries {
		if e.Field == field && (e.File != nil || Clean(e.Text, true) != "") {
			return true
		}
	}
	return false
}
