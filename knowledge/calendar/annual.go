package calendar

import (
	"fmt"
	"time"
)

// Annual is a day of the year without a year, such as a last frost or a printed stop. The zero Annual is "none".
type Annual struct {
	Month time.Month
	Day   int
}

// In gives the day in a year; 29 February falls on 28 February where the year has no leap day. None gives no day.
func (a Annual) In(year int) Day {
	if a.IsZero() {
		return 0
	}
	if a.Month == time.February && a.Day == 29 && DayOf(year, time.February, 29).Annual() != a {
		return DayOf(year, time.February, 28)
	}
	return DayOf(year, a.Month, a.Day)
}

// Nearest gives the occurrence closest to a day, the earlier of two equally close ones.
func (a Annual) Nearest(to Day) Day {
	if a.IsZero() {
		return 0
	}
	best := a.In(to.Year() - 1)
	for _, year := range []int{to.Year(), to.Year() + 1} {
		if d := a.In(year); abs(d.Sub(to)) < abs(best.Sub(to)) {
			best = d
		}
	}
	return best
}

// IsZero reports whether there is none.
func (a Annual) IsZero() bool { return a == Annual{} }

// String gives "5 Nov", and "" for none.
func (a Annual) String() string {
	if a.IsZero() {
		return ""
	}
	return fmt.Sprintf("%d %s", a.Day, a.Month.String()[:3])
}

// MarshalText writes MM-DD; none is empty.
func (a Annual) MarshalText() ([]byte, error) {
	if a.IsZero() {
		return nil, nil
	}
	return fmt.Appendf(nil, "%02d-%02d", a.Month, a.Day), nil
}

// UnmarshalText reads MM-DD; an empty text is none.
func (a *Annual) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*a = Annual{}
		return nil
	}
	d, err := ParseDay("2000-" + string(text))
	if err != nil {
		return fmt.Errorf("no day of the form MM-DD: %q", text)
	}
	*a = d.Annual()
	return nil
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
