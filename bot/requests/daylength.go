package requests

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
)

func (c counter) daylengthFields() []bot.Field {
	var definitions []bot.Choice
	for _, def := range daylight.Definitions() {
		definitions = append(definitions, bot.Choice{Label: def.String() + ": " + def.Describe(), Value: def.String()})
	}
	hours := func(name, help string) bot.Field {
		return bot.Field{Name: name, Counts: hourWords(), Help: help, Kind: bot.NumberKind, Min: new(0.0), Max: new(24.0)}
	}
	return []bot.Field{
		{Name: "on", Help: "the day; today if left out", Kind: bot.DayKind, Sense: calendar.Running},
		placeField(),
		{Name: "definition", Help: "what counts as day; sunrise if left out", Kind: bot.ChoiceKind, Choices: definitions},
		hours("below", "a length in hours: when the day becomes shorter, and longer, in the year"),
		hours("above", "the same as below"),
		chartField(),
		{Name: "variety", Help: "for the picture, the variety whose critical lengths are shown", Kind: bot.NamedKind, Complete: c.completeVarieties},
	}
}

// placeField says where, without regard to where the asker grows.
func placeField() bot.Field {
	return bot.Field{Name: "place", Help: "where: a position such as 51.5,-0.1 or a time zone; yours if left out", Kind: bot.TextKind, Max: new(100.0),
		Complete: func(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
			return bot.Choices(place.Zones(typed, bot.Offered)...), nil
		}}
}

// placeGiven gives the place that the field names, else the asker's or the co-op's.
func (c counter) placeGiven(in *bot.In, seat register.Seat) place.Place {
	if !in.Has("place") {
		return seat.Place()
	}
	return bot.Take(in, "place", func(text string) (place.Place, error) {
		if strings.ContainsAny(text, "0123456789") {
			at, err := place.Parse(text)
			return place.Place{Point: at, Exact: true}, err
		}
		return place.OfZone(text)
	})
}

// sky is a place with the definition of day that an answer keeps to.
type sky struct {
	place.Place
	def daylight.Definition
}

func (c counter) whenDaylength(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	s := sky{Place: c.placeGiven(in, seat)}
	if in.Has("definition") {
		s.def, _ = daylight.ReadDefinition(in.Choice("definition")) // the choices are all definitions
	}
	on, below, above := in.Day("on"), in.Number("below"), in.Number("above")
	chart, v := in.Yes("chart"), c.variety(ctx, in, seat.Coop.ID, seat.Member, "variety")
	if in.Has("below") && in.Has("above") {
		in.Fail(fault.New(fault.Unclear, "Give one length, below: or above:. Both words tell the days on which the day passes it."))
	}
	if in.Err() == nil && !s.Known() {
		in.Fail(fault.New(fault.Unclear, "Tell me the place too: place: (a position such as 51.5,-0.1 or a time zone). /grower place keeps yours."))
	}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if on == 0 {
		on = in.Today()
	}
	reply, err := bot.Reply{}, error(nil)
	if in.Has("below") || in.Has("above") {
		reply = s.crossings(below+above, on.Year())
	} else {
		reply, err = s.light(on)
	}
	if err == nil && (chart || v.ID != 0) {
		var file bot.File
		if in.Has("place") {
			seat = register.Seat{} // what the asker does at home has no place there
		}
		if file, err = c.curve(ctx, s, seat, v.Variety, below+above, on, in.Today()); err == nil {
			reply.Files = append(reply.Files, file)
		}
	} else {
		reply.Next = append(reply.Next, bot.Next{Label: "A picture of the year", Request: changed(in, "chart", "yes")})
	}
	for _, def := range daylight.Definitions() {
		if def != s.def {
			reply.Next = append(reply.Next, bot.Next{Label: "The same " + def.Describe(), Request: changed(in, "definition", def.String())})
		}
	}
	return reply, err
}

// light answers for one day.
func (s sky) light(on calendar.Day) (bot.Reply, error) {
	zone, name := time.UTC, "UTC"
	if s.Zone != "" {
		var err error
		if zone, err = time.LoadLocation(s.Zone); err != nil {
			return bot.Reply{}, fmt.Errorf("loading the zone of a place: %w", err)
		}
		name = s.Zone + " time"
	}
	light := daylight.On(s.Point, on, s.def)
	reply := bot.Reply{Title: "Day length on " + on.Long(), Rows: bot.Table{Columns: bot.Columns("on", "definition", "hours", "from", "to")}}
	row := []bot.Cell{bot.Day(on), bot.Text(s.def.String()), bot.Number(light.Hours, 2)}
	if light.Polar != daylight.NotPolar {
		reply.Rows.Add(append(row, bot.Cell{}, bot.Cell{})...)
		reply.Text = paragraphs(fmt.Sprintf("It is %s at %s: %s throughout, reckoned %s.", light.Polar, s.Point,
			map[daylight.Polar]string{daylight.PolarDay: "light", daylight.PolarNight: "dark"}[light.Polar], s.def.Describe()), s.uncertain(on, light.Hours))
		return reply, nil
	}
	from, begins := clock(light.Rise, zone, on)
	to, ends := clock(light.Set, zone, on)
	reply.Rows.Add(append(row, from, to)...)
	text := fmt.Sprintf("The day at %s is %s long %s, in %s.", s.Point, hoursAndMinutes(light.Hours), s.def.Describe(), name)
	reply.Text = paragraphs(text+begins+ends, s.uncertain(on, light.Hours))
	return reply, nil
}

// clock shows an edge of the day, none where it does not take place. Where the clock is on another day then, as UTC is
// far from Greenwich, that is said.
func clock(edge time.Time, zone *time.Location, on calendar.Day) (bot.Cell, string) {
	if edge.IsZero() {
		return bot.Cell{}, ""
	}
	shown := edge.In(zone).Round(time.Minute)
	if day := calendar.DayAt(shown); day != on {
		return bot.Text(shown.Format("15:04")), fmt.Sprintf(" %s is on %s by that clock.", shown.Format("15:04"), day.Long())
	}
	return bot.Text(shown.Format("15:04")), ""
}

func hoursAndMinutes(hours float64) string {
	minutes := int(math.Round(hours * 60))
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}

// uncertain says what a length may be off by where only a zone is known of the place.
func (s sky) uncertain(on calendar.Day, hours float64) string {
	if s.Exact {
		return ""
	}
	most := 0.0
	for _, lat := range []float64{s.Lat - 1, s.Lat + 1} {
		there := place.Point{Lat: min(max(lat, -90), 90), Lon: s.Lon}
		most = max(most, math.Abs(daylight.Hours(there, on, s.def)-hours))
	}
	return fmt.Sprintf("Only the time zone %s is known, so its reference point stands in: each degree of latitude changes this length by up to %.0f minutes. A position such as place:51.5,-0.1 makes it exact.", s.Zone, math.Ceil(most*60))
}

// crossings answers with the days of a year on which the day passes a length.
func (s sky) crossings(hours float64, year int) bot.Reply {
	length := strconv.FormatFloat(hours, 'f', -1, 64) + " h"
	reply := bot.Reply{Title: fmt.Sprintf("When the day passes %s in %d", length, year), Rows: bot.Table{Columns: bot.Columns("season", "on", "definition")}}
	found := daylight.Crossings(s.Point, hours, year, s.def)
	if len(found) == 0 {
		reply.Text = paragraphs(s.never(length, hours, year), s.perDegree(hours, year, found))
		return reply
	}
	var days []string
	than := " than " + length
	for _, p := range found {
		reply.Rows.Add(bot.Text(string(p.Season)), bot.Day(p.On), bot.Text(s.def.String()))
		way := "shorter"
		if p.Season == daylight.Spring {
			way = "longer"
		}
		days = append(days, way+than+" from "+p.On.Long())
		than = ""
	}
	reply.Text = paragraphs(
		fmt.Sprintf("At %s the day %s is %s. Spring and autumn are the place's own.", s.Point, s.def.Describe(), strings.Join(days, " and ")),
		"A day length printed for a variety seldom says which definition it means: half an hour either way is 8 to 10 days at 45° to 52°.",
		s.perDegree(hours, year, found))
	return reply
}

// never says why no day passes a length.
func (s sky) never(length string, hours float64, year int) string {
	first := calendar.DayOf(year, time.January, 1)
	longest, shortest := first, first
	for on := first; on.Year() == year; on++ {
		switch l := daylight.Hours(s.Point, on, s.def); {
		case l > daylight.Hours(s.Point, longest, s.def):
			longest = on
		case l < daylight.Hours(s.Point, shortest, s.def):
			shortest = on
		}
	}
	most, least := daylight.Hours(s.Point, longest, s.def), daylight.Hours(s.Point, shortest, s.def)
	side := "longer"
	if hours >= most {
		side = "shorter"
	}
	return fmt.Sprintf("At %s every day of %d is %s than %s: %s it has from %.2f h (%s) to %.2f h (%s).",
		s.Point, year, side, length, s.def.Describe(), least, shortest.Long(), most, longest.Long())
}

// perDegree says what a crossing may be off by where only a zone is known of the place.
func (s sky) perDegree(hours float64, year int, found []daylight.Passage) string {
	if s.Exact {
		return ""
	}
	stands := fmt.Sprintf("Only the time zone %s is known, so its reference point stands in: ", s.Zone)
	most := 0.0
	for _, p := range found {
		most = max(most, daylight.DaysPerDegree(s.Point, hours, p.Season, year, s.def))
	}
	switch {
	case len(found) == 0:
		return stands + "further from the equator or nearer to it this may be otherwise. Add a position such as place:51.5,-0.1."
	case math.IsInf(most, 1):
		return stands + "one degree of latitude away the day does not pass this length at all. Add a position such as place:51.5,-0.1."
	}
	return stands + fmt.Sprintf("each degree of latitude may move these days by %.1f days. A position such as place:51.5,-0.1 makes them exact.", most)
}

// hourWords are what a day length may be written in.
func hourWords() []string { return []string{"hour", "h"} }
