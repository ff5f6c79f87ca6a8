package scheduler

import (
	"strconv"
	"strings"
	"time"
)

// week is a set of days of the week, bit 0 for Sunday.
type week uint8

const (
	weekdays week = 0b0111110
	weekend  week = 0b1000001
	daily    week = 0b1111111
)

// readWeek reads days of the week and an hour, or an hour alone, from lower-case text.
func readWeek(text string) (week, Hour, bool) {
	text = strings.NewReplacer(" am", "am", " pm", "pm", " - ", "-", " – ", "-", "–", "-", " to ", "-", ",", " ").Replace(text)
	words := strings.Fields(text)
	if len(words) == 0 {
		return 0, 0, false
	}
	hour, err := ReadHour(words[len(words)-1])
	if err != nil {
		return 0, 0, false
	}
	var days week
	for _, word := range words[:len(words)-1] {
		switch word {
		case "on", "at", "and", "every":
			continue
		}
		read := readDays(word)
		if read == 0 {
			return 0, 0, false
		}
		days |= read
	}
	if days == 0 {
		days = daily
	}
	return days, hour, true
}

// readDays reads "thu", "thursdays", "fri-mon", "weekdays", "weekends" or "daily"; anything else is no day.
func readDays(word string) week {
	switch strings.TrimSuffix(word, "s") {
	case "weekday":
		return weekdays
	case "weekend":
		return weekend
	case "day", "daily":
		return daily
	}
	first, last, isRange := strings.Cut(word, "-")
	if !isRange {
		last = first
	}
	from, ok := readWeekday(first)
	to, also := readWeekday(last)
	if !ok || !also {
		return 0
	}
	days := week(1) << to
	for d := from; d != to; d = (d + 1) % 7 {
		days |= 1 << d
	}
	return days
}

// readWeekday reads the English name of a day of the week, cut short to three letters or more, or in the plural.
func readWeekday(word string) (time.Weekday, bool) {
	word = strings.TrimSuffix(word, "s")
	for d := time.Sunday; d <= time.Saturday && len(word) >= 3; d++ {
		if strings.HasPrefix(strings.ToLower(d.String()), word) {
			return d, true
		}
	}
	return 0, false
}

// expression gives the cron fields that strike an hour on these days.
func (w week) expression(hour Hour) []string {
	var days []string
	for d := range 7 {
		if w&(1<<d) != 0 {
			days = append(days, strconv.Itoa(d))
		}
	}
	dow := strings.Join(days, ",")
	if w == daily {
		dow = "*"
	}
	return []string{strconv.Itoa(int(hour % 60)), strconv.Itoa(int(hour / 60)), "*", "*", dow}
}

// String gives the days as they stand before an hour, Monday first: "", "weekdays ", "Mon, Thu ".
func (w week) String() string {
	switch w {
	case daily:
		return ""
	case weekdays:
		return "weekdays "
	case weekend:
		return "weekends "
	}
	var names []string
	for d := time.Monday; d <= time.Saturday+1; d++ {
		if w&(1<<(d%7)) != 0 {
			names = append(names, (d % 7).String()[:3])
		}
	}
	return strings.Join(names, ", ") + " "
}
