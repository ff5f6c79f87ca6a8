package bot

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// unit turns a number written in it into the unit we reckon in.
type unit func(x float64) float64

func itself(x float64) float64  { return x }
func celsius(f float64) float64 { return (f - 32) * 5 / 9 }

func times(factor float64) unit { return func(x float64) float64 { return x * factor } }

var (
	temperatures = map[string]unit{
		"°c": itself, "c": itself, "celsius": itself,
		"°f": celsius, "f": celsius, "fahrenheit": celsius,
	}
	lengths = map[string]unit{
		"mm": times(0.1), "cm": itself, "m": times(100),
		"in": times(cmPerInch), "inch": times(cmPerInch), "inches": times(cmPerInch), `"`: times(cmPerInch), "″": times(cmPerInch),
		"ft": times(12 * cmPerInch), "feet": times(12 * cmPerInch), "'": times(12 * cmPerInch), "′": times(12 * cmPerInch),
	}
	measured = regexp.MustCompile(`^([+\-−]?[\d.,]+)\s*(\D*)$`)
	counted  = regexp.MustCompile(`^([+\-−]?[\d.,]+)\s*(\p{L}+)$`)
	number   = regexp.MustCompile(`^[+-]?\d{1,15}(\.\d{1,15})?$`)
	grouped  = regexp.MustCompile(`^[+-]?[1-9]\d{0,2},\d{3}$`)
)

// measure reads a number with a unit. Imperial names the unit of a bare number when the asker is used to it.
func (in *In) measure(field, imperial string, usesImperial bool, units map[string]unit, show func(float64) string) float64 {
	f, text := in.raw(field)
	if text == "" {
		return 0
	}
	read, ok := readMeasure(text, imperial, usesImperial, units)
	switch {
	case !ok:
		in.unclear("%q is no %s. Write the %s as in %s:%q.", text, f.Kind, field, field, show(20))
	case f.Min != nil && read < *f.Min:
		in.unclear("The field %s takes at least %s; %s is less. Change it and send it again.", field, show(*f.Min), text)
	case f.Max != nil && read > *f.Max:
		in.unclear("The field %s takes at most %s; %s is more. Change it and send it again.", field, show(*f.Max), text)
	default:
		return read
	}
	return 0
}

func readMeasure(text, imperial string, usesImperial bool, units map[string]unit) (float64, bool) {
	m := measured.FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	x, ok := parseNumber(m[1])
	name := strings.ToLower(strings.ReplaceAll(m[2], " ", ""))
	switch {
	case name != "":
	case usesImperial:
		name = strings.ToLower(imperial)
	default:
		return x, ok
	}
	convert, known := units[name]
	if !ok || !known {
		return 0, false
	}
	return convert(x), true
}

// parseNumber reads a decimal number with a point or a comma. What could be thousands as well as decimals, as in 1,200,
// is no number.
func parseNumber(text string) (float64, bool) {
	text = strings.ReplaceAll(text, "−", "-")
	if grouped.MatchString(text) {
		return 0, false
	}
	text = strings.Replace(text, ",", ".", 1)
	if !number.MatchString(text) {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil
}

// parse reads a number, and drops what the field counts where it stands after it, as one or as several.
func (f Field) parse(text string) (float64, bool) {
	if m := counted.FindStringSubmatch(text); m != nil {
		of := strings.ToLower(m[2])
		if slices.ContainsFunc(f.Counts, func(one string) bool { return of == one || of == one+"s" }) {
			text = m[1]
		}
	}
	return parseNumber(text)
}
