package health

import (
	"slices"
	"strings"
)

// authority ends every word on papers: rules differ by country, and it is not ours to decide.
const authority = "The plant-health authority decides what applies to you; ask it before the first handover."

// Countries as people write them.
const (
	unitedStates = "us|usa|u.s.|u.s.a.|united states|the united states|united states of america|america"
	canada       = "ca|canada"
)

// regimes are the duties that may apply where plants change hands within a country. Great Britain's is from Regulation
// (EU) 2016/2031 Annex VII as retained, the European Union's from that regulation itself; the others are from memory.
var regimes = []struct{ names, duty string }{
	{"gb|great britain|united kingdom|uk|england|scotland|wales",
		"within Great Britain listed plants move between professionals with a UK plant passport: botanical name (A), registration number (B), traceability code (C), origin (D)"},
	{"ie|ireland|nl|netherlands|the netherlands|holland|de|germany|fr|france|be|belgium|dk|denmark|se|sweden|fi|finland|es|spain|pt|portugal|it|italy|at|austria|pl|poland|cz|czechia|lu|luxembourg|si|slovenia|hr|croatia|hu|hungary|sk|slovakia|ro|romania|bg|bulgaria|gr|greece|ee|estonia|lv|latvia|lt|lithuania|mt|malta|cy|cyprus",
		"within the European Union plants move between professionals with a plant passport: botanical name (A), registration number (B), traceability code (C), origin (D)"},
	{unitedStates,
		"a state may ask growers who pass plants on for a nursery licence and an inspection, and plants that leave it for a certificate"},
	{canada, "plants that leave a regulated area may need a movement certificate"},
	{"au|australia", "plants that cross a state's border may need a plant health certificate"},
	{"nz|new zealand", "growers who pass plants on may be asked for records of where they went"},
}

// Papers names the duty that may apply where plants go from a grower in one country to one in another, and defers to the
// authority. Countries are as people write them; "" is not known.
func Papers(from, to string) string {
	a, b := dutyOf(from), dutyOf(to)
	if from == "" {
		a = b
	}
	switch {
	case from == "" && to == "":
		return "Plants that change hands may need papers, such as a plant passport or a nursery licence: which depends on the country. " + authority
	case from != "" && to != "" && spelt(from) != spelt(to) && (a == "" || a != b):
		return "From " + from + " to " + to + " plants cross a border, for which a phytosanitary certificate may be needed. " + authority
	case a == "":
		return "Plants that change hands in " + country(from, to) + " may need papers, such as a plant passport or a nursery licence. " + authority
	}
	return "Papers: " + a + ". " + authority
}

func country(from, to string) string {
	if from != "" {
		return from
	}
	return to
}

func dutyOf(country string) string {
	for _, r := range regimes {
		if named(country, r.names) {
			return r.duty
		}
	}
	return ""
}

func named(country, names string) bool {
	return slices.Contains(strings.Split(names, "|"), spelt(country))
}

func spelt(country string) string { return strings.ToLower(strings.TrimSpace(country)) }
