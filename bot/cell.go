package bot

import (
	"encoding/json"
	"math"
	"strconv"

	"shortday/knowledge/calendar"
)

// Cell is one value of a table. The zero Cell is "none": nothing is known or nothing applies.
type Cell struct {
	kind  Kind
	text  string
	num   float64
	place int // decimal places
	day   calendar.Day
}

// Text makes a cell of words.
func Text(words string) Cell { return Cell{kind: TextKind, text: words} }

// Whole makes a cell of a whole number.
func Whole(n int) Cell { return Cell{kind: WholeKind, num: float64(n)} }

// Number makes a cell of a number shown with so many decimal places; what is not finite is none.
func Number(x float64, places int) Cell {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return Cell{}
	}
	return Cell{kind: NumberKind, num: x, place: places}
}

// Day makes a cell of a day; no day is none.
func Day(d calendar.Day) Cell {
	if d.IsZero() {
		return Cell{}
	}
	return Cell{kind: DayKind, day: d}
}

// Yes makes a cell of yes or no.
func Yes(yes bool) Cell {
	if yes {
		return Cell{kind: YesKind, text: "yes"}
	}
	return Cell{kind: YesKind, text: "no"}
}

// IsNone reports whether there is nothing in the cell.
func (c Cell) IsNone() bool { return c.kind == "" }

// IsNumber reports whether the cell reads best with its digits under those of the next.
func (c Cell) IsNumber() bool { return c.kind == WholeKind || c.kind == NumberKind }

// String gives the cell as people read it: days with weekday and year, none as "–".
func (c Cell) String() string {
	switch c.kind {
	case "":
		return "–"
	case WholeKind, NumberKind:
		return c.digits()
	case DayKind:
		return c.day.Long()
	default:
		return c.text
	}
}

// MarshalJSON gives days as "YYYY-MM-DD", numbers as numbers with their places, yes and no as booleans, none as null.
func (c Cell) MarshalJSON() ([]byte, error) {
	switch c.kind {
	case "":
		return []byte("null"), nil
	case WholeKind, NumberKind:
		return []byte(c.digits()), nil
	case DayKind:
		return json.Marshal(c.day.String())
	case YesKind:
		return json.Marshal(c.text == "yes")
	default:
		return json.Marshal(c.text)
	}
}

func (c Cell) digits() string { return strconv.FormatFloat(c.num, 'f', c.place, 64) }
