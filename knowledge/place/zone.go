package place

import (
	"cmp"
	_ "embed"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"shortday/knowledge/fault"
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

// OfZone gives a place of which only the IANA time zone is known, at the zone's reference point; Exact is false. Case,
// accents and blanks for underscores do not matter. An unknown zone, or one that is no place such as UTC, is
// fault.Missing with the nearest names.
func OfZone(zone string) (Place, error) {
	key := fold(zone)
	for _, r := range references() {
		if r.key == key {
			return Place{Point: r.Point, Zone: r.name}, nil
		}
	}
	if strings.HasPrefix(key, "etc/") || slices.Contains([]string{"utc", "gmt", "zulu", "cet", "met", "eet", "wet"}, key) {
		return Place{}, fault.New(fault.Missing, "The time zone %q is no place; give a city's zone such as Europe/London, or the position.", short(zone))
	}
	near := nearest(key, 3)
	return Place{}, fault.New(fault.Missing, "There is no time zone %q; did you mean %s? A position such as 51.5,-0.1 serves too.", short(zone), strings.Join(near, " or "))
}

// Zones completes what has been typed of a zone's name, or of its city's, to at most limit names: whole names first.
func Zones(prefix string, limit int) []string {
	key := fold(prefix)
	var whole, city []string
	for _, r := range references() {
		switch {
		case strings.HasPrefix(r.key, key):
			whole = append(whole, r.name)
		case strings.Contains(r.key, "/"+key), strings.Contains(r.key, "_"+key):
			city = append(city, r.name)
		}
	}
	all := append(whole, city...)
	return all[:min(max(limit, 0), len(all))]
}

// nearest gives the zones whose name or city is written most like the key.
func nearest(key string, n int) []string {
	type near struct {
		name string
		off  int
	}
	key = string([]rune(key)[:min(len([]rune(key)), 40)])
	var all []near
	for _, r := range references() {
		city := r.key[strings.LastIndexByte(r.key, '/')+1:]
		all = append(all, near{r.name, min(distance(key, r.key), distance(key, city))})
	}
	slices.SortStableFunc(all, func(a, b near) int { return cmp.Compare(a.off, b.off) })
	var names []string
	for _, a := range all[:n] {
		names = append(names, a.name)
	}
	return names
}

// distance counts the letters to put in, take out or change to get from a to b.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

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

// fold drops case and accents and joins words as zone names do.
func fold(name string) string {
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.Join(strings.Fields(name), "_")) {
		if !unicode.Is(unicode.Mn, r) {
			b.WriteRune(unicode.ToLower(r))
		}
	}
	return b.String()
}
