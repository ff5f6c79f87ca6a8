package bot

import (
	"fmt"
	"slices"
	"strings"

	"shortday/knowledge/fault"
)

// Read reads a typed request: /family request field:value field:"a value". The slash may be left out, and so may quotes
// around a value in which no word ends with a colon. Whatever cannot be read is a fault.Unclear naming what comes nearest.
func (d *Desk) Read(typed string) (request string, fields []Entry, err error) {
	l, err := split(typed)
	if err != nil {
		return "", nil, err
	}
	path, r, words, err := d.find(l.words)
	if err != nil {
		return "", nil, err
	}
	fields = r.called(l.fields)
	if len(words) > 0 {
		bare, ok := bareField(r)
		if !ok {
			return "", nil, fault.New(fault.Unclear, "%q stands before any field. %s", strings.Join(words, " "), fieldsOf(path, r))
		}
		fields = append([]Entry{{Field: bare.Name, Text: strings.Join(words, " ")}}, fields...)
	}
	if err := known(path, r, fields); err != nil {
		return "", nil, err
	}
	return path, fields, nil
}

// find gives the request that the first words name, and the words left over.
func (d *Desk) find(words []string) (path string, r Request, rest []string, err error) {
	if len(words) == 0 || words[0] == "/" {
		return "", Request{}, nil, fault.New(fault.Unclear, "No request stands there. Start with one such as /job due; /help lists them all.")
	}
	name := strings.ToLower(strings.TrimPrefix(words[0], "/"))
	f, ok := d.family(name)
	if !ok {
		return "", Request{}, nil, fault.New(fault.Unclear, "There is no request /%s. %s/help lists what can be asked.", name, meant(name, d.names(), "/"))
	}
	if r := f.Requests[0]; r.Name == "" {
		return f.Path(r), r, words[1:], nil
	}
	var names []string
	for _, r := range f.Requests {
		if len(words) > 1 && strings.EqualFold(words[1], r.Name) {
			return f.Path(r), r, words[2:], nil
		}
		names = append(names, r.Name)
	}
	if len(words) == 1 {
		return "", Request{}, nil, fault.New(fault.Unclear, "/%s needs one more word: %s. /help %s explains them.", name, or(names), name)
	}
	return "", Request{}, nil, fault.New(fault.Unclear, "There is no request /%s %s. %sIt can be followed by %s.",
		name, words[1], meant(strings.ToLower(words[1]), names, "/"+name+" "), or(names))
}

func (d *Desk) family(name string) (Family, bool) {
	for _, f := range d.families {
		if f.Name == name {
			return f, true
		}
	}
	return Family{}, false
}

func (d *Desk) names() []string {
	var names []string
	for _, f := range d.families {
		names = append(names, f.Name)
	}
	return names
}

// called gives fields their own names where they were typed under another that is understood.
func (r Request) called(typed []Entry) []Entry {
	fields := slices.Clone(typed)
	for i, e := range fields {
		if _, ok := r.Field(e.Field); ok {
			continue
		}
		for _, f := range r.Fields {
			if f.Also != "" && f.Also == e.Field {
				fields[i].Field = f.Name
			}
		}
	}
	return fields
}

func bareField(r Request) (Field, bool) {
	for _, f := range r.Fields {
		if f.Bare {
			return f, true
		}
	}
	return Field{}, false
}

// known checks that each field is the request's and stands once.
func known(path string, r Request, fields []Entry) error {
	seen := map[string]bool{}
	for _, e := range fields {
		if _, ok := r.Field(e.Field); !ok {
			return fault.New(fault.Unclear, "%s has no field %s. %s%s If it belongs to a value, put that in quotes.",
				path, e.Field, meant(e.Field, fieldNames(r), ""), fieldsOf(path, r))
		}
		if seen[e.Field] {
			return fault.New(fault.Unclear, "The field %s stands twice. Leave one of them out and send it again.", e.Field)
		}
		seen[e.Field] = true
	}
	return nil
}

func fieldNames(r Request) []string {
	names := make([]string, len(r.Fields))
	for i, f := range r.Fields {
		names[i] = f.Name
	}
	return names
}

func fieldsOf(path string, r Request) string {
	if len(r.Fields) == 0 {
		return path + " takes no fields."
	}
	return fmt.Sprintf("Its fields are %s:.", strings.Join(fieldNames(r), ":, "))
}

// meant gives "Did you mean …? " with the nearest name, "" where none is near.
func meant(typed string, names []string, before string) string {
	if name := nearest(strings.ToLower(typed), names); name != "" {
		return fmt.Sprintf("Did you mean %s%s? ", before, name)
	}
	return ""
}

func or(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}
