package requests

import (
	"fmt"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// describe gives the variety as the fields change it.
func describe(in *bot.In, v variety.Variety, seat register.Seat) variety.Variety {
	describeKind(in, &v)
	put(in, "us-class", &v.USClass, in.Whole)
	put(in, "colour", &v.Colour, unlessNone(in))
	put(in, "response", &v.Response, in.Number)
	if in.Has("natural") {
		v.Natural = variety.Natural{On: in.Annual("natural")}
	}
	if !v.Natural.On.IsZero() && (in.Has("natural") || in.Has("natural-at")) {
		v.Natural.Lat = latitudeOf(in, "natural-at", seat.Place())
	}
	if in.Has("bud-hours") || in.Has("flower-hours") {
		v.Critical, _ = v.CriticalOrDefault()
		put(in, "bud-hours", &v.Critical.Bud, in.Number)
		put(in, "flower-hours", &v.Critical.Flower, in.Number)
	}
	put(in, "stops", &v.StopsWanted, in.Whole)
	put(in, "kept", &v.Kept, in.Whole)
	put(in, "shoots", &v.Shoots, in.Number)
	describeRights(in, &v)
	return v
}

// describeKind reads season and form. A section that no longer fits what was told of them is given up for them.
func describeKind(in *bot.In, v *variety.Variety) {
	if class := bot.Take(in, "like", variety.ReadClass); class.Name != "" {
		like := class.Variety()
		v.Season, v.Form, v.Section = like.Season, like.Form, like.Section
	}
	section := bot.Take(in, "section", variety.ReadSection)
	switch {
	case in.Has("section"):
		v.Season, v.Form, v.Section = section.Season(), section.Form(), section
	case in.Has("season") || in.Has("form"):
		if !in.Has("like") && !v.Section.IsZero() {
			v.Season, v.Form, v.Section = v.Section.Season(), v.Section.Form(), variety.Section{}
		}
	}
	put(in, "season", &v.Season, func(field string) variety.Season { return bot.Take(in, field, variety.ReadSeason) })
	put(in, "form", &v.Form, func(field string) variety.Form { return bot.Take(in, field, variety.ReadForm) })
}

// describeRights reads what is known of breeders' rights: a licence or an end of protection speaks for itself.
func describeRights(in *bot.In, v *variety.Variety) {
	if in.Has("protection") {
		v.Protection = bot.Take(in, "protection", func(string) (variety.Protection, error) { return variety.ReadProtection(in.Choice("protection")) })
		if v.Protection == variety.Unknown || v.Protection == variety.Free {
			v.Until, v.Licence = 0, ""
		}
	}
	put(in, "until", &v.Until, in.Day)
	put(in, "licence", &v.Licence, unlessNone(in))
	switch {
	case v.Protection != variety.Unknown || in.Has("protection"):
	case v.Licence != "":
		v.Protection = variety.Licensed
	case !v.Until.IsZero():
		v.Protection = variety.Protected
	}
}

// unlessNone reads a text, of which "none" is none.
func unlessNone(in *bot.In) func(field string) string {
	return func(field string) string {
		if text := in.Text(field); variety.Fold(text) != "none" {
			return text
		}
		return ""
	}
}

// varietyFacts tells what is known of a variety by the fields of /variety add, with the defaults where nothing is.
func varietyFacts(v variety.Variety) []fact {
	season, seasonBasis := v.SeasonOrGuess()
	form, formBasis := v.FormOrGuess()
	critical, criticalBasis := v.CriticalOrDefault()
	natural, naturalBasis := v.NaturalOrClass()
	stops, stopsBasis := v.StopsWantedOrDefault()
	kept, keptBasis := v.StemsKept()
	shoots, shootsBasis := v.ShootsOrDefault()
	printed, _ := variety.USForm(v.USClass)
	facts := []fact{
		{"season", string(season), seasonBasis},
		{"form", string(form), formBasis},
		{"section", v.Section.String(), v.Section.Kind()},
		{"us-class", positive(float64(v.USClass), ""), printed},
		{"colour", v.Colour, given(v.Colour != "")},
		{"response", positive(v.Response, " weeks"), given(v.Response != 0)},
		{"natural", naturalDay(natural), byDefault(v.Natural.On.IsZero(), naturalBasis)},
		{"bud-hours", fmt.Sprintf("below %g h", critical.Bud), byDefault(v.Critical.Bud == 0, criticalBasis)},
		{"flower-hours", fmt.Sprintf("below %g h", critical.Flower), byDefault(v.Critical.Flower == 0, criticalBasis)},
		{"stops", positive(float64(stops), ""), byDefault(v.StopsWanted == 0, stopsBasis)},
		{"kept", positive(float64(kept), " stems a plant"), byDefault(v.Kept == 0, keptBasis)},
		{"shoots", positive(shoots, " a stool"), byDefault(v.Shoots == 0, shootsBasis)},
		{"protection", v.Protection.Words(), ""},
	}
	if !v.Until.IsZero() {
		facts = append(facts, fact{"until", v.Until.Long(), asGiven})
	} else {
		facts = append(facts, fact{field: "until"})
	}
	return append(facts, fact{"licence", v.Licence, given(v.Licence != "")})
}

const asGiven = "as given"

// byDefault marks the source of what was not told.
func byDefault(is bool, source string) string {
	if is && source != "" {
		return "default: " + source
	}
	return source
}

func (f fact) isDefault() bool { return strings.HasPrefix(f.basis, "default: ") }

func given(is bool) string {
	if is {
		return asGiven
	}
	return ""
}

func positive(x float64, unit string) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64) + unit
}

func naturalDay(n variety.Natural) string {
	if n.On.IsZero() {
		return ""
	}
	return n.On.String() + " at " + latitude(n.Lat)
}

// lacks asks for what dates cannot be reckoned without.
func lacks(v variety.Variety) string {
	if season, _ := v.SeasonOrGuess(); season != variety.AnySeason {
		return ""
	}
	if v.Response != 0 {
		return "When it blooms by itself is not known, so only black-out or lights can be reckoned. Add season: or natural: when you know."
	}
	return "When it blooms is not known, so no date can be reckoned yet. Add season:, natural: or response: with /variety add."
}

// notTold names what is still to be told of a variety; rights, which may have no end, apart.
func notTold(facts []fact) string {
	var fields []string
	for _, field := range unknown(facts) {
		if field != "until" && field != "licence" {
			fields = append(fields, field)
		}
	}
	if len(fields) == 0 {
		return ""
	}
	return "Not known: " + strings.Join(fields, ", ") + "."
}
