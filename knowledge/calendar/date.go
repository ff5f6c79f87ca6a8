package calendar

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"shortday/knowledge/fault"
)

// date is a date as it was written; it may be none of the calendar.
type date struct {
	year       int // 0 where not given
	month, day int
	weekday    int // -1 where not given
}

var (
	yearFirst = regexp.MustCompile(`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$`)
	numbered  = regexp.MustCompile(`^(\d{1,2})[-/.](\d{1,2})(?:[-/.](\d{2}|\d{4}))?$`)
	piece     = regexp.MustCompile(`\d+|[a-z]+|[^-./]`)
)

// date reads folded words as a date; ok is false where they are none.
func (r Reader) date(words []string) (d date, ok bool) {
	weekday := -1
	if len(words) > 1 {
		name := strings.TrimSuffix(words[0], ".")
		if weekday = indexOf(name, 7, func(i int) string { return time.Weekday(i).String() }); weekday >= 0 {
			words = words[1:]
		}
	}
	d, ok = r.numbers(strings.TrimSuffix(strings.Join(words, ""), "."))
	if !ok {
		d, ok = monthNamed(words)
	}
	d.weekday = weekday
	return d, ok
}

func (r Reader) numbers(text string) (d date, ok bool) {
	if found := yearFirst.FindStringSubmatch(text); found != nil {
		year, ok := yearOf(found[1])
		return date{year: year, month: number(found[2]), day: number(found[3])}, ok
	}
	found := numbered.FindStringSubmatch(text)
	if found == nil {
		return date{}, false
	}
	d = date{day: number(found[1]), month: number(found[2])}
	if r.MonthFirst {
		d.day, d.month = d.month, d.day
	}
	if found[3] != "" {
		d.year, ok = yearOf(found[3])
		return d, ok
	}
	return d, true
}

// monthNamed reads "5 nov", "nov 5th", "5 november 2027", "5-nov-27" and "2027 nov 5".
func monthNamed(words []string) (d date, ok bool) {
	var numbers []string
	place := 0
	for _, p := range piece.FindAllString(strings.Join(words, " "), -1) {
		month := indexOf(p, 12, func(i int) string { return time.Month(i + 1).String() })
		switch {
		case p == " ":
		case month >= 0 && d.month == 0:
			d.month, place = month+1, len(numbers)
		case p[0] >= '0' && p[0] <= '9':
			numbers = append(numbers, p)
		case len(numbers) == 0 || !ordinal(p):
			return date{}, false
		}
	}
	if d.month == 0 || len(numbers) == 0 || len(numbers) > 2 {
		return date{}, false
	}
	if place == 1 && len(numbers) == 2 && len(numbers[0]) == 4 {
		numbers[0], numbers[1] = numbers[1], numbers[0]
	}
	if len(numbers[0]) > 2 {
		return date{}, false
	}
	d.day = number(numbers[0])
	if len(numbers) == 2 {
		d.year, ok = yearOf(numbers[1])
		return d, ok
	}
	return d, true
}

func ordinal(word string) bool { return word == "st" || word == "nd" || word == "rd" || word == "th" }

// in gives the day in a year, and no day where the year has none.
func (d date) in(year int) Day {
	if d.day > daysIn(year, time.Month(d.month)) {
		return 0
	}
	return DayOf(year, time.Month(d.month), d.day)
}

// check refuses what is no day of the calendar, and says what was probably meant.
func (d date) check() error {
	month := time.Month(d.month)
	switch {
	case d.month < 1 || d.month > 12:
		return d.noMonth()
	case d.day < 1:
		return fault.New(fault.Unclear, "%s begins with day 1; write %s.", month, written(1, month, d.year))
	}
	year, of := d.year, fmt.Sprintf("%s %d", month, d.year)
	if year == 0 {
		year, of = 2000, month.String() // has a leap day
	}
	last := DayOf(year, month+1, 0)
	_, _, days := last.Date()
	if d.day <= days {
		return nil
	}
	after := d.year
	if month == time.December && after != 0 {
		after++
	}
	return fault.New(fault.Unclear, "%s has %d days; write %s or %s.",
		of, days, written(days, month, d.year), written(1, (last+1).Annual().Month, after))
}

// noMonth takes day and month for exchanged where that gives a day.
func (d date) noMonth() error {
	turned := date{year: d.year, month: d.day, day: d.month}
	if turned.month < 1 || turned.month > 12 || turned.check() != nil {
		return fault.New(fault.Unclear, "There is no month %d; write the day like 5 nov or 2027-11-05.", d.month)
	}
	text := written(turned.day, time.Month(turned.month), d.year)
	return fault.New(fault.Unclear, "There is no month %d; if day and month are exchanged, write %s.", d.month, text)
}

// written gives a day as one would type it; year 0 is left out.
func written(day int, month time.Month, year int) string {
	text := fmt.Sprintf("%d %s", day, strings.ToLower(month.String()[:3]))
	if year != 0 {
		text += fmt.Sprintf(" %d", year)
	}
	return text
}

func daysIn(year int, month time.Month) int {
	return DayOf(year, month+1, 1).Sub(DayOf(year, month, 1))
}

// yearOf reads a year of four digits, or of two in this century.
func yearOf(text string) (year int, ok bool) {
	year, err := strconv.Atoi(text)
	switch {
	case err != nil || text[0] < '0' || text[0] > '9' || year == 0 && len(text) == 4:
		return 0, false
	case len(text) == 2:
		return 2000 + year, true
	}
	return year, len(text) == 4
}

// number reads digits that a pattern has matched.
func number(digits string) int {
	n, err := strconv.Atoi(digits)
	if err != nil {
		return 0
	}
	return n
}
