package bot

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"unicode/utf8"
)

// platformName is matched without its length: repeated 32 times its classes would be a good part of the program's start.
var platformName = regexp.MustCompile(`^[-_\p{Ll}\p{Lo}\p{N}]+$`)

const longestName = 32

// Check finds what no platform could show: families, requests or fields beyond the names, lengths and counts that
// Discord takes (limits of its application commands, August 2026), and requests that could not be typed.
func Check(families []Family) error {
	var c checker
	c.count("families", len(families), 100)
	var names []string
	for _, f := range families {
		names = append(names, f.Name)
		c.family(f)
	}
	c.once("families", names)
	return errors.Join(c.found...)
}

type checker struct{ found []error }

func (c *checker) say(format string, args ...any) {
	c.found = append(c.found, fmt.Errorf(format, args...))
}

func (c *checker) family(f Family) {
	path := "/" + f.Name
	c.named(path, f.Name, f.Help)
	c.count(path+" requests", len(f.Requests), 25)
	sum := len(f.Name) + len(f.Help)
	var names []string
	for _, r := range f.Requests {
		names = append(names, r.Name)
		if r.Name == "" && len(f.Requests) > 1 {
			c.say("%s: a request without a name has to be the only one", path)
		}
		if r.Name != "" {
			c.named(f.Path(r), r.Name, r.Help)
		}
		sum += c.request(f.Path(r), r)
	}
	if len(f.Requests) == 0 {
		c.say("%s: no requests", path)
	}
	c.once(path, names)
	if sum > 8000 {
		c.say("%s: %d characters of names, help and values; 8000 are taken", path, sum)
	}
}

// request gives the characters that count towards the sum of a command.
func (c *checker) request(path string, r Request) int {
	sum := len(r.Name) + len(r.Help)
	if r.Handle == nil {
		c.say("%s: no handler", path)
	}
	if len(r.Examples) == 0 {
		c.say("%s: no example", path)
	}
	c.count(path+" fields", len(r.Fields), 25)
	var names []string
	optional, bare := false, 0
	for _, f := range r.Fields {
		if f.Required && optional {
			c.say("%s: required %s after an optional field", path, f.Name)
		}
		if f.Bare {
			bare++
		}
		optional = optional || !f.Required
		names = append(names, f.Name)
		if f.Kind == FileKind && r.Confirm != "" {
			c.say("%s %s: what asks once more has lost the file by then", path, f.Name)
		}
		sum += c.field(path+" "+f.Name, f)
	}
	c.count(path+" bare fields", bare, 1)
	c.form(path, r)
	c.once(path, names)
	return sum
}

// form finds what a form could not ask for, and what it would leave out though it is required.
func (c *checker) form(path string, r Request) {
	c.count(path+" fields of its form", len(r.Form), 5)
	for _, name := range r.Form {
		if f, ok := r.Field(name); !ok || slices.Contains([]Kind{MemberKind, ChannelKind, RoleKind, FileKind}, f.Kind) {
			c.say("%s: its form cannot ask for %s", path, name)
		}
	}
	for _, f := range r.Fields {
		if _, taken := r.Field(f.Also); taken {
			c.say("%s: %s is a field of its own, and another name for %s", path, f.Also, f.Name)
		}
		if len(r.Form) > 0 && f.Required && !slices.Contains(r.Form, f.Name) {
			c.say("%s: its form leaves out the required %s", path, f.Name)
		}
	}
}

func (c *checker) field(path string, f Field) int {
	c.named(path, f.Name, f.Help)
	c.count(path+" choices", len(f.Choices), Offered)
	if (f.Kind == ChoiceKind) != (len(f.Choices) > 0) {
		c.say("%s: choices belong to a field of kind choice, and only there", path)
	}
	if f.Kind == FileKind && (f.Complete != nil || f.Bare) {
		c.say("%s: a file has neither completion nor bare words", path)
	}
	if len(f.Counts) > 0 && f.Kind != WholeKind && f.Kind != NumberKind {
		c.say("%s: only a number counts something", path)
	}
	if f.Complete != nil && len(f.Choices) > 0 {
		c.say("%s: both choices and completion", path)
	}
	if f.Kind == NamedKind && f.Complete == nil {
		c.say("%s: a name without completion", path)
	}
	sum := len(f.Name) + len(f.Help)
	var values []string
	for _, choice := range f.Choices {
		sum += len(choice.Label) + len(choice.Value)
		values = append(values, choice.Value)
		c.length(path, choice.Label, 100)
		c.length(path, choice.Value, 100)
	}
	c.once(path, values)
	return sum
}

func (c *checker) named(path, name, help string) {
	if !platformName.MatchString(name) || utf8.RuneCountInString(name) > longestName {
		c.say("%s: not a name that can be registered", path)
	}
	c.length(path, help, 100)
}

func (c *checker) length(path, text string, most int) {
	if n := utf8.RuneCountInString(text); n < 1 || n > most {
		c.say("%s: %d characters in %q; 1 to %d are taken", path, n, text, most)
	}
}

func (c *checker) count(what string, n, most int) {
	if n > most {
		c.say("%s: %d; %d are taken", what, n, most)
	}
}

func (c *checker) once(path string, names []string) {
	slices.Sort(names)
	if len(slices.Compact(slices.Clone(names))) != len(names) {
		c.say("%s: a name stands twice in %q", path, names)
	}
}
