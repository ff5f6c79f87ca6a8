package calendar

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"shortday/knowledge/fault"
)

// Reader reads days as people type them.
type Reader struct {
	Today      Day
	MonthFirst bool // 5/11 is 11 May, not 5 November
	South      bool // the southern season's sales days are known too
}

// Sense says which of many such days is meant, where the text leaves the year or the week open. Today is always one of them.
type Sense uint8

// The senses.
const (
	Planned Sense = iota // the next such day
	Done                 // the last such day
	Running              // that of the running year; of weekdays, the next
)

// Read reads ISO days, days with the month named or numbered, weekdays, ISO weeks (their Monday), days so many days,
// weeks, months or years away, and sales days; case, accents and blanks do not matter. What cannot be read, is no day of the
// calendar or lies outside 1900 to 2199 is fault.Unclear.
func (r Reader) Read(text string, sense Sense) (Day, error) {
	words := fold(text)
	if len(words) == 0 || len(words) > 8 {
		return 0, unread(text)
	}
	asked := request{Reader: r, sense: sense, words: words}
	for _, form := range []func(request) (Day, bool, error){
		request.named, request.away, request.weekday, request.week, request.sale, request.written,
	} {
		day, ok, err := form(asked)
		if err != nil {
			return 0, err
		}
		if ok {
			return within(day)
		}
	}
	return 0, unread(text)
}

// ReadAnnual reads a day without its year: "15 may", "15/5" in the reader's order, or MM-DD with two digits each. "none" is none.
func (r Reader) ReadAnnual(text string) (Annual, error) {
	words := fold(text)
	if slices.Equal(words, []string{"none"}) {
		return Annual{}, nil
	}
	if len(words) == 1 && monthDay.MatchString(words[0]) {
		r, words = Reader{MonthFirst: true}, []string{strings.Replace(words[0], "-", "/", 1)}
	}
	date, ok := r.date(words)
	switch {
	case !ok:
		return Annual{}, fault.New(fault.Unclear, "%q is no day of the year that can be read; write it like 15 may or 05-15, or none.", short(text))
	case date.year != 0 || date.weekday >= 0:
		return Annual{}, fault.New(fault.Unclear, "This is kept for every year, so give the day and the month alone, such as 15 may.")
	}
	if err := date.check(); err != nil {
		return Annual{}, err
	}
	return Annual{Month: time.Month(date.month), Day: date.day}, nil
}

var monthDay = regexp.MustCompile(`^\d\d-\d\d$`)

func within(d Day) (Day, error) {
	if year := d.Year(); year < 1900 || year > 2199 {
		return 0, fault.New(fault.Unclear, "Days are kept for the years 1900 to 2199, and that would be %d; check the year.", year)
	}
	return d, nil
}

func unread(text string) error {
	return fault.New(fault.Unclear, "%q is no day that can be read; write it like 2027-11-05, 5 nov, friday, in 3 weeks or all saints.", short(text))
}

// short keeps a text that could be of any length from filling the sentence that quotes it.
func short(text string) string {
	if runes := []rune(text); len(runes) > 40 {
		return string(runes[:40]) + "…"
	}
	return text
}

// count reads a number up to four digits, or a word up to twelve.
func count(word string) (int, bool) {
	words := []string{"", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}
	if word == "a" || word == "an" {
		return 1, true
	}
	if i := slices.Index(words, word); i > 0 {
		return i, true
	}
	n, err := strconv.Atoi(word)
	return n, err == nil && len(word) <= 4 && word[0] != '-' && word[0] != '+'
}

// fold gives the words of a text in small letters, without accents, commas, apostrophes and words that say nothing.
func fold(text string) []string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(text) {
		switch {
		case unicode.Is(unicode.Mn, r), r == '\'', r == '’', r == '‘':
		case r == ',':
			b.WriteByte(' ')
		case r == '–', r == '−', r == '‐', r == '‑':
			b.WriteByte('-')
		default:
			b.WriteRune(unicode.ToLower(r))
		}
	}
	return slices.DeleteFunc(strings.Fields(b.String()), func(w string) bool { return w == "the" || w == "of" || w == "on" })
}

// indexOf finds the name that a word is, or shortens to three letters or more; -1 where there is none.
func indexOf(word string, n int, name func(int) string) int {
	for i := range n {
		if len(word) >= 3 && strings.HasPrefix(strings.ToLower(name(i)), word) {
			return i
		}
	}
	return -1
}
