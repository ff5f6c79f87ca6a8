package terminal

import (
	"context"
	"regexp"
	"strings"
	"unicode"

	"shortday/bot"
)

// candidate is one thing that Tab could put in place of the text from a point on.
type candidate struct {
	label string // shown when there are several
	text  string // what several have in common is typed of this
	whole string // what is typed when there is but one
}

// openField finds a field whose value is being typed: its name, an opening quote, and the value so far.
var openField = regexp.MustCompile(`(?:^|\s)(\p{L}[\p{L}\p{N}_-]*):\s*("?)([^":]*)$`)

// completeRequest completes families, requests, fields and the values that fields offer.
func (t *Talk) completeRequest(ctx context.Context) completer {
	return func(line string, pos int) (string, int, string) {
		from, found := t.candidates(ctx, line[:pos])
		return complete(line, pos, from, found)
	}
}

// completeValue completes the value of one field that was asked for.
func (t *Talk) completeValue(ctx context.Context, ask bot.Ask, field bot.Field) completer {
	return func(line string, pos int) (string, int, string) {
		var found []candidate
		for _, c := range t.desk.Complete(ctx, ask, field.Name, line[:pos]) {
			found = append(found, candidate{label: c.Label, text: c.Value, whole: c.Value})
		}
		return complete(line, pos, 0, found)
	}
}

// candidates gives what could stand in place of the text from a point on.
func (t *Talk) candidates(ctx context.Context, head string) (from int, found []candidate) {
	if m := openField.FindStringSubmatchIndex(head); m != nil {
		if found = t.values(ctx, head[:m[2]], strings.ToLower(head[m[2]:m[3]]), head[m[6]:m[7]]); len(found) > 0 {
			return m[2], found
		}
	}
	from = strings.LastIndexFunc(head, unicode.IsSpace) + 1
	begun := strings.ToLower(head[from:])
	words := strings.Fields(head[:from])
	if len(words) == 0 {
		return from, starting(t.families(), "/"+strings.TrimPrefix(begun, "/"))
	}
	request, fields, err := t.desk.Read(head[:from])
	if err != nil {
		return from, starting(t.requests(words), begun)
	}
	r, _ := t.desk.Request(request)
	var names []candidate
	for _, f := range r.Fields {
		if !filled(fields, f.Name) {
			names = append(names, candidate{label: f.Name + ": " + f.Help, text: f.Name + ":", whole: f.Name + ":"})
		}
	}
	return from, starting(names, begun)
}

// values gives what a field offers, as field:value. A value ended by a blank is only continued, not offered again.
func (t *Talk) values(ctx context.Context, before, name, typed string) []candidate {
	request, fields, err := t.desk.Read(before)
	if err != nil {
		return nil
	}
	ask := t.ask()
	ask.Request, ask.Fields = request, fields
	var found []candidate
	for _, c := range t.desk.Complete(ctx, ask, name, typed) {
		if strings.HasSuffix(typed, " ") && !strings.HasPrefix(strings.ToLower(c.Value), strings.ToLower(typed)) {
			continue
		}
		whole := strings.TrimSpace(bot.Typed("", name, c.Value))
		text := name + ":" + c.Value
		if strings.Contains(c.Value, " ") {
			text = name + `:"` + c.Value
		}
		found = append(found, candidate{label: c.Label, text: text, whole: whole + " "})
	}
	return found
}

func (t *Talk) families() []candidate {
	var found []candidate
	for _, f := range t.desk.Families() {
		found = append(found, candidate{label: "/" + f.Name + "  " + f.Help, text: "/" + f.Name, whole: "/" + f.Name + " "})
	}
	return found
}

func (t *Talk) requests(words []string) []candidate {
	var found []candidate
	for _, f := range t.desk.Families() {
		if len(words) != 1 || strings.ToLower(strings.TrimPrefix(words[0], "/")) != f.Name {
			continue
		}
		for _, r := range f.Requests {
			found = append(found, candidate{label: f.Path(r) + "  " + r.Help, text: r.Name, whole: r.Name + " "})
		}
	}
	return found
}

func filled(fields []bot.Entry, name string) bool {
	for _, e := range fields {
		if e.Field == name {
			return true
		}
	}
	return false
}

func starting(all []candidate, begun string) []candidate {
	var found []candidate
	for _, c := range all {
		if strings.HasPrefix(c.text, begun) {
			found = append(found, c)
		}
	}
	return found
}

// complete puts in the only candidate, or what all have in common; where that is nothing new they are listed.
func complete(line string, pos, from int, found []candidate) (string, int, string) {
	if len(found) == 0 {
		return line, pos, ""
	}
	if len(found) == 1 {
		return line[:from] + found[0].whole + line[pos:], from + len(found[0].whole), ""
	}
	shared := common(found)
	if len(shared) > pos-from {
		return line[:from] + shared + line[pos:], from + len(shared), ""
	}
	var labels strings.Builder
	for _, c := range found {
		labels.WriteString(bot.Clean(c.label, false) + "\n")
	}
	return line, pos, labels.String()
}

// common gives the longest beginning that all candidates have, in whole characters.
func common(found []candidate) string {
	shared := []rune(found[0].text)
	for _, c := range found[1:] {
		text := []rune(c.text)
		n := 0
		for n < len(shared) && n < len(text) && shared[n] == text[n] {
			n++
		}
		shared = shared[:n]
	}
	return string(shared)
}
