package place

import (
	"cmp"
	_ "embed"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// The tables are those of the IANA time zone database 2025b, in the public domain. zone1970.tab has a zone's principal
// location; zone.tab has that of zones which have become names for another country's (Oslo, Amsterdam); links.tab has
// older names (US/Eastern), taken from the link lines of tzdata.zi.
var (
	//go:embed zone1970.tab
	principal string
	//go:embed zone.tab
	national string
	//go:embed links.tab
	links string
)

// reference is a zone with the point that stands for it.
type reference struct {
	name string
	key  string // folded name
	Point
}

// references reads the tables once, by name.
var references = sync.OnceValue(func() []reference {
	byName := map[string]Point{}
	for _, table := range []string{principal, national} {
		for fields := range rows(table) {
			if _, known := byName[fields[2]]; !known {
				byName[fields[2]] = iso6709(fields[1])
			}
		}
	}
	for fields := range rows(links) {
		if _, known := byName[fields[1]]; !known {
			byName[fields[1]] = byName[fields[0]]
		}
	}
	var all []reference
	for name, point := range byName {
		all = append(all, reference{name, fold(name), point})
	}
	slices.SortFunc(all, func(a, b reference) int { return cmp.Compare(a.name, b.name) })
	return all
})

// rows yields the tab-separated fields of a table's lines.
func rows(table string) func(yield func([]string) bool) {
	return func(yield func([]string) bool) {
		for line := range strings.Lines(table) {
			if strings.HasPrefix(line, "#") {
				continue
			}
			if !yield(strings.Split(strings.TrimSuffix(line, "\n"), "\t")) {
				return
			}
		}
	}
}

// iso6709 reads ±DDMM±DDDMM or ±DDMMSS±DDDMMSS.
func iso6709(text string) Point {
	split := strings.LastIndexAny(text, "+-")
	return Point{Lat: millionths(sexagesimal(text[:split], 2)), Lon: millionths(sexagesimal(text[split:], 3))}
}

func sexagesimal(text string, width int) float64 {
	digits, total, unit := text[1:], 0.0, 1.0
	for digits != "" {
		value, err := strconv.Atoi(digits[:width])
		if err != nil {
			panic("place: embedded table of zones: " + text)
		}
		total += float64(value) / unit
		digits, width, unit = digits[width:], 2, unit*60
	}
	if text[0] == '-' {
		return -total
	}
	return total
}
