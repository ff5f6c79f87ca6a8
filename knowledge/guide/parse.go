package guide

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"shortday/knowledge/crop"
)

// parse reads a text as it is written in its file: a title, the lines Also and Steps, the short answer, and the
// sections More, Sources and, where there is something to mind, Cautions.
func parse(key, raw string) (Text, error) {
	t := Text{Key: key}
	head, rest, _ := strings.Cut(raw, "\n## ")
	blocks := paragraphs(head)
	if len(blocks) != 2 {
		return t, fmt.Errorf("a head and one paragraph have to stand before the sections, not %d blocks", len(blocks))
	}
	for line := range strings.Lines(blocks[0]) {
		if err := t.read(strings.TrimSpace(line)); err != nil {
			return t, err
		}
	}
	t.Short = blocks[1]
	for section := range strings.SplitSeq(rest, "\n## ") {
		name, body, _ := strings.Cut(section, "\n")
		switch name {
		case "More":
			t.More = paragraphs(body)
		case "Sources":
			t.Sources = items(body)
		case "Cautions":
			t.Cautions = items(body)
		default:
			return t, fmt.Errorf("there is no section %q", name)
		}
	}
	if t.Title == "" || len(t.Also) == 0 || len(t.More) == 0 || len(t.Sources) == 0 {
		return t, errors.New("title, other words, more and sources are all needed")
	}
	return t, nil
}

// read takes one line of the head.
func (t *Text) read(line string) error {
	switch label, value, _ := strings.Cut(line, " "); label {
	case "#":
		t.Title = value
	case "Also:":
		t.Also = strings.Split(value, ", ")
	case "Steps:":
		for word := range strings.SplitSeq(value, ", ") {
			if word != "" && !slices.Contains(crop.Kinds(), crop.Kind(word)) {
				return fmt.Errorf("there is no step %q", word)
			}
			if word != "" {
				t.Steps = append(t.Steps, crop.Kind(word))
			}
		}
	default:
		return fmt.Errorf("%q is no line of a head", line)
	}
	return nil
}

func paragraphs(text string) []string {
	var all []string
	for block := range strings.SplitSeq(text, "\n\n") {
		if block = strings.TrimSpace(block); block != "" {
			all = append(all, block)
		}
	}
	return all
}

func items(text string) []string {
	var all []string
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(strings.TrimPrefix(line, "- ")); line != "" {
			all = append(all, line)
		}
	}
	return all
}
