package bot

import (
	"math"
	"strconv"
	"time"

	"shortday/knowledge/calendar"
)

// Standing is what the register knows of the asker that decides how an Ask is read and answered. The zero Standing is
// that of someone not known.
type Standing struct {
	Right      Right
	Zone       *time.Location // nil while not known
	MonthFirst bool           // 5/11 is 11 May
	South      bool           // seasons are those of the southern hemisphere
	Fahrenheit bool
	Inches     bool
}

// Reader gives how the asker's days are read.
func (s Standing) Reader(today calendar.Day) calendar.Reader {
	return calendar.Reader{Today: today, MonthFirst: s.MonthFirst, South: s.South}
}

// WriteTemperature writes degrees Celsius in the asker's unit: "16 °C", "61 °F".
func (s Standing) WriteTemperature(celsius float64) string {
	if s.Fahrenheit {
		return exact(math.Round(celsius*9/5+32)) + " °F"
	}
	return tenths(celsius) + " °C"
}

// WriteLength writes centimetres in the asker's unit: "45 cm", "17.7 in".
func (s Standing) WriteLength(cm float64) string {
	if s.Inches {
		return tenths(cm/cmPerInch) + " in"
	}
	return tenths(cm) + " cm"
}

const cmPerInch = 2.54 // by definition

func tenths(x float64) string { return exact(math.Round(x*10) / 10) }

// exact writes a number with the places it has; adding zero takes the minus from a zero.
func exact(x float64) string { return strconv.FormatFloat(x+0, 'f', -1, 64) }
