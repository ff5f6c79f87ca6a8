package variety

import (
	"strings"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// seasonLat is the latitude that the NCS (UK) classification is written for, the middle of England.
const seasonLat = 52.0

// ReadSeason reads "early", "mid" or "late" and what people write for them: "lates", "mid-season", "early flowering".
// Months are refused: they would mean another season in the southern hemisphere.
func ReadSeason(text string) (Season, error) {
	folded := strings.ReplaceAll(Fold(text), "-", " ")
	for _, tail := range []string{" season", " flowering", " blooming", " bloom"} {
		folded = strings.TrimSuffix(folded, tail)
	}
	switch folded {
	case "early", "earlies":
		return Early, nil
	case "mid", "mids", "middle", "midseason":
		return Mid, nil
	case "late", "lates":
		return Late, nil
	}
	return AnySeason, fault.New(fault.Unclear, "%q is no season; give early (September in the north, March in the south), mid (October, April) or late (November, May).", text)
}

// SeasonOrGuess gives the season from the field, else the section, else the day of natural bloom, and what it was
// taken from. AnySeason, with an empty source, where none of them is known.
func (v Variety) SeasonOrGuess() (season Season, source string) {
	switch {
	case v.Season != AnySeason:
		return v.Season, "as given"
	case v.Section.Season() != AnySeason:
		return v.Section.Season(), "NCS (UK) section " + v.Section.String()
	case !v.Natural.On.IsZero():
		return v.Natural.season(), "natural bloom " + v.Natural.On.String()
	}
	return AnySeason, ""
}

// season reads the class off the month of bloom: September and before early, October mid, November to April late.
func (n Natural) season() Season {
	month := n.On.Month
	if n.Lat < 0 {
		month = (month+5)%12 + 1 // half a year on
	}
	switch {
	case month == time.October:
		return Mid
	case month >= time.May && month <= time.September:
		return Early
	}
	return Late
}

// NaturalOrClass gives the day of natural bloom and its source: the variety's own, else the middle of its season's
// month at 52° N. Zero, with an empty source, where no season is known.
func (v Variety) NaturalOrClass() (Natural, string) {
	if !v.Natural.On.IsZero() {
		return v.Natural, "natural bloom day of the variety"
	}
	season, _ := v.SeasonOrGuess()
	return season.Bloom(), season.source()
}

// Bloom is the middle of the month that the NCS (UK) classification gives the season, at 52° N; zero for AnySeason.
// The window around it is half a month at least.
func (s Season) Bloom() Natural {
	month, known := map[Season]time.Month{Early: time.September, Mid: time.October, Late: time.November}[s]
	if !known {
		return Natural{}
	}
	return Natural{On: calendar.Annual{Month: month, Day: 15}, Lat: seasonLat}
}

func (s Season) source() string {
	if s == AnySeason {
		return ""
	}
	return "season class " + string(s) + " (NCS (UK) classification; middle of its month)"
}
