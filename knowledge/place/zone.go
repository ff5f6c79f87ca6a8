package place

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"shortday/knowledge/fault"
)

// OfZone gives a place of which only the IANA time zone is known, at the zone's reference point; Exact is false. Case,
// accents and blanks for underscores do not matter. A zone that is unknown, or is no place such as UTC, is fault.Missing
// with the names nearest to it.
func OfZone(zone string) (Place, error) {
	key := fold(zone)
	for _, r := range references() {
		if r.key == key {
			return Place{Point: r.Point, Zone: r.name}, nil
		}
	}
	if near := nearest(key, 3); len(near) > 0 {
		return Place{}, fault.New(fault.Missing, "There is no time zone %q; did you mean %s? A position such as 51.5,-0.1 serves too.",
			short(zone), strings.Join(near, " or "))
	}
	return Place{}, fault.New(fault.Missing, "The time zone %q belongs to no place; give a city's such as Europe/London, or a position such as 51.5,-0.1.", short(zone))
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

// nearest gives at most n zones whose name or city differs from the key in no more than every fourth letter, the most alike first.
func nearest(key string, n int) []string {
	type near struct {
		name string
		off  int
	}
	var all []near
	if len(key) > 64 {
		return nil // no zone's name is half as long
	}
	for _, r := range references() {
		city := r.key[strings.LastIndexByte(r.key, '/')+1:]
		if off := min(distance(key, r.key), distance(key, city)); off <= len(key)/4 {
			all = append(all, near{r.name, off})
		}
	}
	slices.SortStableFunc(all, func(a, b near) int { return cmp.Compare(a.off, b.off) })
	var names []string
	for _, a := range all[:min(n, len(all))] {
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
