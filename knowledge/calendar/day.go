// Package calendar holds days without hours, windows of days, and the hour that a clock in a zone shows.
// It knows nothing of plants.
package calendar

import (
	"fmt"
	"time"
)

// Day is a day of the proleptic Gregorian calendar, counted from 1 January of the year 1. The zero Day is "no day".
// Days compare with < and ==, and their difference in days is plain subtraction.
type Day int32

const unixEpoch = 719162 // days from 0001-01-01 to 1970-01-01

// DayOf gives the day of a date; months and days out of range roll over as in time.Date.
func DayOf(year int, month time.Month, day int) Day {
	return Day(floorDiv(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix(), 86400) + unixEpoch)
}

// DayAt gives the day that a clock shows at an instant, in the instant's own location.
func DayAt(t time.Time) Day { return DayOf(t.Date()) }

// ParseDay reads YYYY-MM-DD, from 0001-01-02 to the end of 9999.
func ParseDay(text string) (Day, error) {
	t, err := time.Parse(time.DateOnly, text)
	if day := DayOf(t.Date()); err == nil && day > 0 {
		return day, nil
	}
	return 0, fmt.Errorf("no day of the form YYYY-MM-DD: %q", text)
}

// UTC gives midnight UTC of the day.
func (d Day) UTC() time.Time { return time.Unix(d.unix(), 0).UTC() }

func (d Day) unix() int64 { return (int64(d) - unixEpoch) * 86400 }

// Date gives year, month and day of the month.
func (d Day) Date() (year int, month time.Month, day int) { return d.UTC().Date() }

// Year gives the calendar year.
func (d Day) Year() int { return d.UTC().Year() }

// Weekday gives the day of the week.
func (d Day) Weekday() time.Weekday { return time.Weekday((int(d) + 1) % 7) }

// Annual gives the day without its year.
func (d Day) Annual() Annual {
	_, m, day := d.Date()
	return Annual{Month: m, Day: day}
}

// Add moves the day by n days.
func (d Day) Add(n int) Day { return d + Day(n) }

// Sub gives the days from e to d.
func (d Day) Sub(e Day) int { return int(d - e) }

// IsZero reports whether there is no day.
func (d Day) IsZero() bool { return d == 0 }

// String gives YYYY-MM-DD, and "" for no day.
func (d Day) String() string {
	if d == 0 {
		return ""
	}
	return d.UTC().Format(time.DateOnly)
}

// Long gives the day as replies show it, unambiguously: "Fri 5 Nov 2027".
func (d Day) Long() string {
	if d == 0 {
		return "no day"
	}
	return d.UTC().Format("Mon 2 Jan 2006")
}

// MarshalText writes YYYY-MM-DD.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads YYYY-MM-DD; an empty text is no day.
func (d *Day) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*d = 0
		return nil
	}
	read, err := ParseDay(string(text))
	*d = read
	return err
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
