package calendar

import "time"

// Sale is a day that flowers are sold for, by its usual name.
type Sale string

// The days a co-op sells by.
const (
	AllSaints    Sale = "All Saints"
	Thanksgiving Sale = "Thanksgiving" // of the United States
	Advent       Sale = "Advent Sunday"
	Christmas    Sale = "Christmas"
	MothersDay   Sale = "Mother's Day" // as kept in May, in the southern season
)

// Sales lists the days in the order of the year, Mother's Day for the south alone.
func Sales(south bool) []Sale {
	all := []Sale{AllSaints, Thanksgiving, Advent, Christmas}
	if south {
		return append([]Sale{MothersDay}, all...)
	}
	return all
}

// In gives the day in a year.
func (s Sale) In(year int) Day {
	switch s {
	case AllSaints:
		return DayOf(year, time.November, 1)
	case Thanksgiving:
		return nth(4, time.Thursday, year, time.November)
	case Advent:
		return DayOf(year, time.December, 24).onOrBefore(time.Sunday) - 21 // fourth Sunday before Christmas
	case Christmas:
		return DayOf(year, time.December, 25)
	case MothersDay:
		return nth(2, time.Sunday, year, time.May)
	}
	return 0
}

func nth(n int, weekday time.Weekday, year int, month time.Month) Day {
	return DayOf(year, month, 7*n).onOrBefore(weekday)
}

// Monday gives the first day of the day's week.
func (d Day) Monday() Day { return d.onOrBefore(time.Monday) }

// onOrBefore gives the last such weekday up to the day itself.
func (d Day) onOrBefore(weekday time.Weekday) Day {
	return d - Day(int(d.Weekday()-weekday+7)%7)
}
