package requests

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// oddVerbs are the forms of verbs that their beginnings do not tell.
var oddVerbs = [...][2]string{{"woke", "wake"}, {"woken", "wake"}, {"struck", "strike"}, {"took", "take"}, {"taken", "take"}, {"fed", "feed"}, {"brought", "bring"}, {"began", "begin"}, {"begun", "begin"}, {"lit", "light"}}

// verbOf reports whether a word is a form of a verb, as in stopped and stopping of stop.
func verbOf(word, verb string) bool {
	if slices.Contains(oddVerbs[:], [2]string{word, verb}) {
		return true
	}
	end, ok := strings.CutPrefix(word, strings.TrimSuffix(verb, "e"))
	if !ok {
		return false
	}
	if last := verb[len(verb)-1:]; last != "e" {
		end = strings.TrimPrefix(end, last) // stop-p-ed
	}
	return slices.Contains([]string{"ed", "ing", "s", "es"}, end)
}

// asNamed gives a folded text with its verb as steps are named, for all steps whose verb it may be.
func asNamed(text string) (readings []string) {
	verb, rest, _ := strings.Cut(text, " ")
	for _, k := range crop.Kinds() {
		for _, name := range kindNames(k) {
			first, more, _ := strings.Cut(name, " ")
			reading := strings.TrimSpace(first + " " + rest)
			if verbOf(verb, first) && (more == "" || strings.HasPrefix(rest+" ", more+" ")) && !slices.Contains(readings, reading) {
				readings = append(readings, reading)
			}
		}
	}
	return readings
}

// jobsMeant gives the jobs that a folded text names, with its verb in another form where none is named so.
func (c counter) jobsMeant(ctx context.Context, own register.Member, today calendar.Day, text string) ([]found, error) {
	for _, reading := range append([]string{text}, asNamed(text)...) {
		if jobs, err := c.jobsNamed(ctx, own, today, reading); err != nil || len(jobs) > 0 {
			return jobs, err
		}
	}
	return nil, nil
}

// nearJobs asks whether an open job or care was meant whose variety begins with the words after the step, "" where none
// can be.
func (c counter) nearJobs(ctx context.Context, own register.Member, today calendar.Day, text string) (string, error) {
	readings := append([]string{text}, asNamed(text)...)
	var near []string
	may := func(kind crop.Kind, of, name string) {
		for _, step := range kindNames(kind) {
			for _, reading := range readings {
				rest, ok := strings.CutPrefix(reading, step+" ")
				if ok && begins(rest, variety.Fold(of)) && !slices.Contains(near, name) {
					near = append(near, name)
				}
			}
		}
	}
	plans, err := c.reg.Plans(ctx, own.ID, 0)
	if err != nil {
		return "", err
	}
	open, err := c.reg.Due(ctx, own.ID, calendar.DayOf(9999, 12, 31))
	if err != nil {
		return "", err
	}
	for _, j := range open {
		i := slices.IndexFunc(plans, func(p register.Plan) bool { return p.ID == j.Plan })
		if i >= 0 {
			may(j.Kind, targetName(plans[i]), jobName(j.Kind, plans[i]))
		}
	}
	care, err := c.reg.Care(ctx, own.ID, today, calendar.DayOf(9999, 12, 31))
	if err != nil {
		return "", err
	}
	for _, due := range care {
		for _, b := range due.Batches {
			may(due.Kind, b.Name, due.Kind.Name(false)+" "+b.Name)
		}
	}
	switch len(near) {
	case 0:
		return "", nil
	case 1:
		return fmt.Sprintf("Did you mean %s? ", near[0]), nil
	}
	return fmt.Sprintf("Did you mean one of %s? ", some(near, 6)), nil
}

// begins reports whether each word typed begins one of a name's, in the order of the name.
func begins(typed, name string) bool {
	words := strings.Fields(name)
	for word := range strings.FieldsSeq(typed) {
		i := slices.IndexFunc(words, func(of string) bool { return strings.HasPrefix(of, word) })
		if i < 0 {
			return false
		}
		words = words[i+1:]
	}
	return typed != ""
}
