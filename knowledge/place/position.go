package place

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"shortday/knowledge/fault"
)

// Parse reads a position as people write it, latitude first unless letters say otherwise: decimal degrees, degrees with
// minutes and seconds, signs or hemisphere letters, and a decimal comma where nothing else could be meant. It is kept to a
// millionth of a degree, which is a hand's breadth. Whatever it cannot read is fault.Unclear.
func Parse(text string) (Point, error) {
	tokens, ok := tokenize(text)
	if !ok {
		return Point{}, unclear(text)
	}
	angles, ok := group(tokens)
	if !ok {
		return Point{}, unclear(text)
	}
	lat, lon := angles[0], angles[1]
	if lat.axis() == "EW" || lon.axis() == "NS" {
		lat, lon = lon, lat
	}
	if lat.axis() == "EW" || lon.axis() == "NS" {
		return Point{}, fault.New(fault.Unclear, "A position needs one value north or south and one east or west; write it like 51.5N 0.1W.")
	}
	return point(lat, lon)
}

// String gives decimal degrees that Parse reads back, such as "51.5,-0.1".
func (p Point) String() string {
	return decimal(p.Lat) + "," + decimal(p.Lon)
}

func decimal(degrees float64) string {
	return strconv.FormatFloat(millionths(degrees), 'f', -1, 64)
}

func millionths(degrees float64) float64 {
	return math.Round(degrees*1e6)/1e6 + 0 // no negative zero
}

func point(lat, lon angle) (Point, error) {
	north, err := lat.degrees()
	if err != nil {
		return Point{}, err
	}
	east, err := lon.degrees()
	switch {
	case err != nil:
		return Point{}, err
	case math.Abs(north) > 90 && math.Abs(east) <= 90 && math.Abs(north) <= 180:
		return Point{}, fault.New(fault.Unclear, "Latitude comes first and ends at 90°; if %s is the longitude, write %s,%s.",
			decimal(north), decimal(east), decimal(north))
	case math.Abs(north) > 90:
		return Point{}, fault.New(fault.Unclear, "No latitude is %s°; give one from -90 to 90, such as 51.5,-0.1.", decimal(north))
	case math.Abs(east) > 180:
		return Point{}, fault.New(fault.Unclear, "No longitude is %s°; give one from -180 to 180, such as 51.5,-0.1.", decimal(east))
	}
	return Point{Lat: millionths(north), Lon: millionths(east)}, nil
}

func unclear(text string) error {
	return fault.New(fault.Unclear, "%q is no position that can be read; write it like 51.5,-0.1 or 51°30'26\"N 0°7'39\"W.", short(text))
}

// short keeps a text that could be of any length from filling the sentence that quotes it.
func short(text string) string {
	if runes := []rune(text); len(runes) > 40 {
		return string(runes[:40]) + "…"
	}
	return text
}

var (
	plain = strings.NewReplacer(
		"′", "'", "’", "'", "‘", "'", "ʹ", "'", "´", "'", "`", "'", "″", `"`, "”", `"`, "“", `"`, "ʺ", `"`, "''", `"`, "’’", `"`, "′′", `"`,
		"−", "-", "–", "-", "º", "°", "˚", "°", "\u00a0", " ", "\u202f", " ",
		"NORTH", "N", "SOUTH", "S", "EAST", "E", "WEST", "W",
	)
	commaInNumber = regexp.MustCompile(`(\d),(\d)`)
	commasInRow   = regexp.MustCompile(`\d,\d+,\d`)
	token         = regexp.MustCompile(`^(?:\d{1,9}(?:\.\d{1,15})?|[-+,;°'"NSEW])`)
)

// tokenize splits a text into numbers, signs, marks and letters; ok is false where it holds anything else.
func tokenize(text string) (tokens []string, ok bool) {
	if len(text) > 200 {
		return nil, false
	}
	rest := decimalPoint(strings.TrimSpace(plain.Replace(strings.ToUpper(text))))
	for rest != "" {
		found := token.FindString(rest)
		if found == "" {
			return nil, false
		}
		tokens = append(tokens, found)
		rest = strings.TrimLeft(rest[len(found):], " \t")
	}
	return tokens, true
}

// decimalPoint turns commas inside numbers into points, where something else keeps the two values apart.
func decimalPoint(text string) string {
	inside := len(commaInNumber.FindAllString(text, -1))
	apart := strings.ContainsAny(text, "; NSEW") || strings.Count(text, ",") > inside
	if !apart || strings.Contains(text, ".") || commasInRow.MatchString(text) {
		return text
	}
	return commaInNumber.ReplaceAllString(text, "$1.$2")
}
