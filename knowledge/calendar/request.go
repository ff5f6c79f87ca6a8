package calendar

import (
	"regexp"
	"slices"
	"strings"
	"time"

	"shortday/knowledge/fault"
)

// request is a text to read, in folded words.
type request struct {
	Reader
	sense Sense
	words []string
}

// pick gives the day that is meant of those that in gives for each year; in gives no day where a year has none.
func (r request) pick(in func(year int) Day) Day {
	const leap = 8 // years between leap days, at most
	year := r.Today.Year()
	for off := -1; off <= leap; off++ {
		switch next, last := in(year+off), in(year-off); {
		case r.sense == Running:
			return in(year)
		case r.sense == Planned && next >= r.Today:
			return next
		case r.sense == Done && last != 0 && last <= r.Today:
			return last
		}
	}
	return 0
}

func (r request) named() (Day, bool, error) {
	if len(r.words) != 1 {
		return 0, false, nil
	}
	switch r.words[0] {
	case "today":
		return r.Today, true, nil
	case "tomorrow":
		return r.Today.Add(1), true, nil
	case "yesterday":
		return r.Today.Add(-1), true, nil
	}
	return 0, false, nil
}

// away reads "in 3 weeks", "3 weeks ago" and "next week", which is the same day of it.
func (r request) away() (Day, bool, error) {
	words, sign := r.words, 0
	switch {
	case slices.Equal(words, []string{"next", "week"}):
		return r.Today.Add(7), true, nil
	case len(words) == 3 && words[0] == "in":
		words, sign = words[1:], 1
	case len(words) == 3 && words[2] == "ago":
		words, sign = words[:2], -1
	}
	if len(words) != 2 {
		return 0, false, nil
	}
	n, ok := count(words[0])
	unit := strings.TrimSuffix(words[1], "s")
	if !ok || !slices.Contains([]string{"day", "week", "fortnight", "month", "year"}, unit) {
		return 0, false, nil
	}
	if sign == 0 {
		return 0, false, fault.New(fault.Unclear, "%s can lie ahead or behind; write in %[1]s or %[1]s ago.", strings.Join(words, " "))
	}
	n *= sign
	switch unit {
	case "week":
		return r.Today.Add(7 * n), true, nil
	case "fortnight":
		return r.Today.Add(14 * n), true, nil
	case "month":
		return r.Today.addMonths(n), true, nil
	case "year":
		return r.Today.addMonths(12 * n), true, nil
	}
	return r.Today.Add(n), true, nil
}

// weekday reads "friday", "next friday", after today, and "last friday", before it.
func (r request) weekday() (Day, bool, error) {
	name := r.words[len(r.words)-1]
	weekday := indexOf(name, 7, func(i int) string { return time.Weekday(i).String() })
	if weekday < 0 || len(r.words) > 2 {
		return 0, false, nil
	}
	next := (r.Today + 6).onOrBefore(time.Weekday(weekday))
	switch {
	case len(r.words) == 1 && r.sense == Done:
		return r.Today.onOrBefore(time.Weekday(weekday)), true, nil
	case len(r.words) == 1, r.words[0] == "this":
		return next, true, nil
	case r.words[0] == "next":
		return (r.Today + 7).onOrBefore(time.Weekday(weekday)), true, nil
	case r.words[0] == "last":
		return (r.Today - 1).onOrBefore(time.Weekday(weekday)), true, nil
	}
	return 0, false, nil
}

var isoWeek = regexp.MustCompile(`^(?:(\d{4})-?)?w(?:eek)? ?(\d{1,2})(?: (\d{4}))?$`)

// week reads an ISO week; one that holds today is still the next such week.
func (r request) week() (Day, bool, error) {
	found := isoWeek.FindStringSubmatch(strings.Join(r.words, " "))
	if found == nil || found[1] != "" && found[3] != "" {
		return 0, false, nil
	}
	week := number(found[2])
	if week < 1 || week > 53 {
		return 0, false, fault.New(fault.Unclear, "There is no week %d; a year has the weeks 1 to 52, some years 53.", week)
	}
	if r.sense == Planned {
		r.Today -= 6
	}
	monday := func(year int) Day { return isoMonday(year, week) }
	if given := found[1] + found[3]; given != "" {
		year := number(given)
		if monday(year) == 0 {
			return 0, false, fault.New(fault.Unclear, "%d has no week 53; write week 52 %[1]d or week 1 %d.", year, year+1)
		}
		return monday(year), true, nil
	}
	day := r.pick(monday)
	if day == 0 {
		return 0, false, fault.New(fault.Unclear, "This year has no week %d; write the year too, such as week 52 2027.", week)
	}
	return day, true, nil
}

// isoMonday gives the Monday of an ISO week, and no day where the year has no such week.
func isoMonday(year, week int) Day {
	monday := DayOf(year, time.January, 4).onOrBefore(time.Monday).Add(7 * (week - 1))
	if monday.Add(3).Year() != year {
		return 0
	}
	return monday
}

// sale reads a sales day by name, with or without its year.
func (r request) sale() (Day, bool, error) {
	words, year := r.words, 0
	if last := words[len(words)-1]; len(words) > 1 {
		if y, ok := yearOf(last); ok {
			words, year = words[:len(words)-1], y
		}
	}
	var sale Sale
	switch strings.TrimSuffix(strings.Join(words, " "), " day") {
	case "all saints":
		sale = AllSaints
	case "thanksgiving", "us thanksgiving":
		sale = Thanksgiving
	case "advent", "advent sunday":
		sale = Advent
	case "christmas":
		sale = Christmas
	case "mothers":
		sale = MothersDay
	default:
		return 0, false, nil
	}
	day := sale.In(year)
	if year == 0 {
		day = r.pick(sale.In)
	}
	if sale == MothersDay && !r.South {
		return 0, false, fault.New(fault.Unclear, "Mother's Day is read only for the southern season, where it sells this crop; if you mean the second Sunday of May, write %s.", day)
	}
	return day, true, nil
}

// written reads a date, with or without its year and its weekday.
func (r request) written() (Day, bool, error) {
	date, ok := r.date(r.words)
	if !ok {
		return 0, false, nil
	}
	if err := date.check(); err != nil {
		return 0, false, err
	}
	day := date.in(date.year)
	if date.year == 0 {
		day = r.pick(date.in)
	}
	if day == 0 { // 29 February of the running year
		date.year = r.Today.Year()
		return 0, false, date.check()
	}
	if date.weekday >= 0 && day.Weekday() != time.Weekday(date.weekday) {
		return 0, false, fault.New(fault.Unclear, "%s is not a %s; leave the weekday out, or correct the day.", day.Long(), time.Weekday(date.weekday))
	}
	return day, true, nil
}

// addMonths keeps the day of the month, or takes the last where the month is shorter.
func (d Day) addMonths(n int) Day {
	year, month, day := d.Date()
	first := DayOf(year, month+time.Month(n), 1)
	return first.Add(min(day, daysIn(first.Year(), first.Annual().Month)) - 1)
}
