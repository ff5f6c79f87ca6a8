package register

import (
	"database/sql/driver"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
)

// day, annual, instant and ref say how a value stands in a column.
type (
	day     calendar.Day    // text YYYY-MM-DD, '' for none
	annual  calendar.Annual // text MM-DD, '' for none
	instant time.Time       // Unix seconds, 0 for none
	ref     int64           // the id of another row, NULL for none
)

func (d day) Value() (driver.Value, error) { return calendar.Day(d).String(), nil }

func (d *day) Scan(src any) error {
	text, ok := src.(string)
	if !ok {
		return fmt.Errorf("no day: %v", src)
	}
	return (*calendar.Day)(d).UnmarshalText([]byte(text))
}

func (a annual) Value() (driver.Value, error) {
	text, err := calendar.Annual(a).MarshalText()
	return string(text), err
}

func (a *annual) Scan(src any) error {
	text, ok := src.(string)
	if !ok {
		return fmt.Errorf("no day of the year: %v", src)
	}
	return (*calendar.Annual)(a).UnmarshalText([]byte(text))
}

func (i instant) Value() (driver.Value, error) {
	if time.Time(i).IsZero() {
		return int64(0), nil
	}
	return time.Time(i).Unix(), nil
}

func (i *instant) Scan(src any) error {
	seconds, ok := src.(int64)
	if !ok {
		return fmt.Errorf("no instant: %v", src)
	}
	*i = instant{}
	if seconds != 0 {
		*i = instant(time.Unix(seconds, 0).UTC())
	}
	return nil
}

func (r ref) Value() (driver.Value, error) {
	if r == 0 {
		return nil, nil
	}
	return int64(r), nil
}

func (r *ref) Scan(src any) error {
	id, _ := src.(int64)
	*r = ref(id)
	return nil
}
