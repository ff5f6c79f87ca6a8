package requests

import (
	"context"
	"slices"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// when is the family of days reckoned from the fields given. Nothing is stored, and nobody has to be a member.
func when(c counter) bot.Family {
	return bot.Family{Name: "when", Help: "When something is to be done or comes, reckoned from what you tell", Requests: []bot.Request{
		{Name: "bloom", Help: "When plants bloom, from what was done and what is known of the variety", Handle: c.whenBloom,
			Examples: []string{"/when bloom shortdays:2026-10-11 response:10 place:39.7,-105", `/when bloom class:"late spray" stopped:"10 june" place:53.1,-6.7`, "/when bloom variety:Saltmarsh colour:today"},
			Fields:   slices.Concat(c.describingFields(), dayFields(bloomFrom()), climateFields())},
		{Name: "stop", Help: "When to stop for a bloom on a day, and the last safe day for it", Handle: c.whenStop,
			Examples: []string{`/when stop bloom:"5 nov" class:"late spray" place:53.1,-6.7`, `/when stop bloom:"all saints" variety:Saltmarsh`},
			Fields: slices.Concat([]bot.Field{bloomField(true)}, c.describingFields(),
				dayFields([]dayField{{"struck", "the day on which the cuttings were struck", crop.Strike, "striking on"}}), climateFields(), equipmentFields("cover", "black-out", "lights"))},
		{Name: "cut", Help: "When to take cuttings, from the day of waking or the bloom wanted", Handle: c.whenCut,
			Examples: []string{`/when cut woken:"1 feb"`, `/when cut bloom:"5 nov" class:"late spray"`},
			Fields: slices.Concat(dayFields([]dayField{{"woken", "the day on which the stools are woken", crop.Wake, "waking on"}}), []bot.Field{bloomField(false)},
				c.describingFields(), equipmentFields("bottom-heat", "cover", "black-out", "lights"))},
		{Name: "wake", Help: "When to wake stools, from the day cuttings are wanted or the bloom wanted", Handle: c.whenWake,
			Examples: []string{`/when wake cut:"1 march"`, `/when wake bloom:"5 nov" class:"late spray"`},
			Fields: slices.Concat(dayFields([]dayField{{"cut", "the day on which cuttings are wanted", crop.Cut, "cutting on"}}), []bot.Field{bloomField(false)},
				c.describingFields(), equipmentFields("bottom-heat", "cover", "black-out", "lights"))},
		{Name: "daylength", Help: "How long the day is at a place, or when it passes a length", Handle: c.whenDaylength,
			Examples: []string{"/when daylength place:51.5,-0.1", "/when daylength below:13.5 definition:civil place:Europe/Dublin on:2027-01-01"},
			Fields:   c.daylengthFields()},
	}}
}

// dayField is a field that tells on what day a step was done.
type dayField struct {
	field, help string
	kind        crop.Kind
	said        string // how a reply repeats it, before the day
}

// bloomFrom is what a bloom can be reckoned from.
func bloomFrom() []dayField {
	return []dayField{
		{"shortdays", "the day on which short days began, by black-out or the end of lighting", crop.BlackOut, "short days from"},
		{"stopped", "the day on which the plants were stopped", crop.Stop, "the stop on"},
		{"colour", "the day on which buds showed colour", crop.BudColour, "colour seen on"},
		{"taken", "the day on which the bud was taken", crop.TakeBud, "the bud taken on"},
		{"planted", "the day on which they were planted out", crop.PlantOut, "planting out on"},
		{"struck", "the day on which the cuttings were struck", crop.Strike, "striking on"},
		{"cut", "the day on which the cuttings were taken", crop.Cut, "cutting on"},
		{"woken", "the day on which the stools were woken", crop.Wake, "waking on"},
	}
}

// dayFields makes fields of days. A day without a year is the next such one, as everywhere in /when.
func dayFields(days []dayField) []bot.Field {
	fields := make([]bot.Field, len(days))
	for i, d := range days {
		fields[i] = bot.Field{Name: d.field, Help: d.help, Kind: bot.DayKind, Sense: calendar.Planned}
	}
	return fields
}

func bloomField(required bool) bot.Field {
	return bot.Field{Name: "bloom", Help: "the day on which it is to bloom", Kind: bot.DayKind, Sense: calendar.Planned, Required: required}
}

func (c counter) describingFields() []bot.Field {
	return []bot.Field{
		c.varietyField(false),
		classField(),
		{Name: "season", Help: "its season class", Kind: bot.ChoiceKind, Choices: bot.Choices(string(variety.Early), string(variety.Mid), string(variety.Late))},
		{Name: "section", Help: "its section in the NCS (UK) classification, such as 9d", Kind: bot.TextKind, Max: new(5.0)},
		{Name: "response", Counts: []string{"week"}, Help: "weeks from the start of short days to bloom, such as 9.5", Kind: bot.NumberKind, Min: new(6.0), Max: new(15.0)},
		placeField(),
	}
}

// classField names a stock class, for plants that are no variety of the register.
func classField() bot.Field {
	return bot.Field{Name: "class", Help: "a season and a form instead of a variety, such as late spray", Kind: bot.NamedKind, Complete: completeClasses}
}

func climateFields() []bot.Field {
	return []bot.Field{
		{Name: "night", Help: "how warm the nights are in the first two weeks of short days", Kind: bot.TemperatureKind, Min: new(-20.0), Max: new(45.0)},
		{Name: "mean", Help: "the mean of day and night while buds grow", Kind: bot.TemperatureKind, Min: new(-20.0), Max: new(45.0)},
		{Name: "light", Help: "daily radiation while buds grow, in cal per cm²", Kind: bot.NumberKind, Min: new(1.0), Max: new(1000.0)},
	}
}

func equipmentFields(names ...string) []bot.Field {
	help := map[string]string{
		"cover":       "whether there is a glasshouse or tunnel",
		"black-out":   "whether plants can be covered from the light",
		"lights":      "whether plants can be lit at night",
		"bottom-heat": "whether there is a heated bench or propagator",
	}
	fields := make([]bot.Field, len(names))
	for i, name := range names {
		fields[i] = bot.Field{Name: name, Help: help[name], Kind: bot.YesKind}
	}
	return fields
}

// reckoning is what the fields of a request describe.
type reckoning struct {
	crop.Case
	seat register.Seat
	name string // of the plant in replies, "" where nothing was said of it
}

// reckoning reads what every request but daylength has. A variety of the register brings the blooms on record with it;
// what was done counts only as far as the fields tell.
func (c counter) reckoning(ctx context.Context, in *bot.In) reckoning {
	r := reckoning{seat: c.seat(ctx, in)}
	if v := c.variety(ctx, in, r.seat.Coop.ID, r.seat.Member, "variety"); v.ID != 0 {
		r.Case, r.name = c.known(ctx, in, r.seat, v), v.Name
	}
	if class := bot.Take(in, "class", variety.ReadClass); class.Name != "" {
		described := class.Variety()
		r.Variety.Season, r.Variety.Form, r.Variety.Section = described.Season, described.Form, described.Section
		r.name = nameOr(r.name, class.Name)
	}
	if section := bot.Take(in, "section", variety.ReadSection); !section.IsZero() {
		r.Variety.Season, r.Variety.Form, r.Variety.Section = section.Season(), section.Form(), section
		r.name = nameOr(r.name, "section "+section.String())
	}
	if season := variety.Season(in.Choice("season")); season != variety.AnySeason {
		r.Variety.Season, r.Variety.Section = season, variety.Section{}
		r.name = nameOr(r.name, string(season))
	}
	if in.Has("response") {
		r.Variety.Response = bot.Take(in, "response", func(string) (float64, error) {
			weeks := in.Number("response")
			return weeks, variety.CheckResponse(weeks)
		})
	}
	r.Place = c.placeGiven(in, r.seat)
	return r
}

// known gives what the register knows of a variety; what was done for it this year is left out.
func (c counter) known(ctx context.Context, in *bot.In, seat register.Seat, v register.Variety) crop.Case {
	known := crop.Case{Variety: v.Variety}
	if seat.Zero() {
		return known
	}
	known, err := c.reg.Case(ctx, seat.Member.ID, v.ID, crop.Target{}, in.Today())
	if err != nil {
		in.Fail(err)
	}
	known.Done = nil
	return known
}

func nameOr(name, otherwise string) string {
	if name != "" {
		return name
	}
	return otherwise
}

// titled puts the plant into a title: "Bloom: Saltmarsh".
func (r reckoning) titled(title string) string {
	if r.name == "" {
		return title
	}
	return title + ": " + r.name
}

func (r *reckoning) readClimate(in *bot.In) {
	read := func(field string, value func(string) float64) *float64 {
		if !in.Has(field) {
			return nil
		}
		return new(value(field))
	}
	r.Climate = crop.Climate{Night: read("night", in.Temperature), Mean: read("mean", in.Temperature), Light: read("light", in.Number)}
}

// readEquipment lets a field say otherwise than what is known of the place.
func (r *reckoning) readEquipment(in *bot.In, fields map[string]*bool) {
	for field, has := range fields {
		if in.Has(field) {
			*has = in.Yes(field)
		}
	}
}

// placeless says what it costs that no place is known.
func (r reckoning) placeless() string {
	if r.Place.Known() {
		return ""
	}
	return "No place is known, so nothing is moved by its day length and frosts, and the northern seasons are taken: add place:51.5,-0.1 or a time zone."
}
