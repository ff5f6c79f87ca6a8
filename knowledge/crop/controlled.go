package crop

import (
	"fmt"
	"math"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
)

// response is how long a plant takes from the start of short days to the bloom.
type response struct {
	days     int
	spread   float64
	late     int // days that the latest day lies further off, for what cannot be known without temperatures
	basis    Basis
	why      string
	warnings []string
}

// groupUnknown is taken where a response group is not known, from memory: most cut varieties are 8 to 10 weeks.
const groupUnknown = 63

func responseOf(c Case) response {
	var own []float64
	for _, r := range c.Records {
		if r.Own && !r.Short.IsZero() && r.Bloomed > r.Short {
			own = append(own, float64(r.Bloomed.Sub(r.Short)))
		}
	}
	switch {
	case len(own) > 0:
		return response{days: rounded(mean(own)), spread: learnt(responseWidth, len(own)), basis: OwnRecords,
			why: plural(len(own), "bloom", "blooms") + " of your own under short days"}
	case c.Variety.Response > 0:
		return response{days: rounded(c.Variety.Response * 7), spread: responseWidth, basis: ShortDays,
			why: fmt.Sprintf("response group of %g weeks", c.Variety.Response)}
	}
	return response{days: groupUnknown, spread: unknownGroup, basis: Nothing, why: "nothing: the response group of this variety is not known",
		warnings: []string{"The response group is not known, so 9 weeks stand in for it: set response weeks with /variety add for a date to trust."}}
}

// startingAt adds to the response what the climate does to plants whose short days begin on a day.
func (r response) startingAt(c Case, start calendar.Day) response {
	delay, late, warnings := delays(c, start)
	r.days += delay
	r.late += late
	r.warnings = append(r.warnings[:len(r.warnings):len(r.warnings)], warnings...)
	return r
}

func (r response) window(start calendar.Window) calendar.Window {
	half := rounded(nineInTen * r.spread)
	return start.After(calendar.Span{Min: r.days - half, Likely: r.days, Max: r.days + int(math.Hypot(float64(half), float64(r.late)))})
}

// startFor gives the start of short days that leads to a bloom; what the climate adds depends on the start itself.
func (r response) startFor(c Case, bloom calendar.Day) (calendar.Day, response) {
	start := bloom.Add(-r.days)
	for range 8 {
		with := r.startingAt(c, start)
		next := bloom.Add(-with.days)
		if next == start {
			return start, with
		}
		start = next
	}
	return start, r.startingAt(c, start)
}

// lowLight is the day length in hours under which light is taken to be low, where no radiation is given.
const lowLight = 10.0

// delays reckons what temperatures and light add to the response, in days, each from its published figure, and by how
// much later still the bloom may be where nothing is given.
func delays(c Case, start calendar.Day) (days, late int, warnings []string) {
	warn := func(format string, args ...any) { warnings = append(warnings, fmt.Sprintf(format, args...)) }
	hours := 0.0
	if c.Place.Known() {
		hours = daylight.Hours(c.Place.Point, start, daylight.Sunrise)
	}
	if mean := c.Climate.Mean; mean != nil {
		if heat := min(*mean, 26) - 23; heat > 0 {
			days += rounded(3.5 * heat)
			late += rounded(0.7 * heat)
			warn("Heat: 2.8 to 4.2 days a degree between 23 and 26 °C of mean temperature in two cultivars; beyond 26 °C nothing was measured.")
		}
		if cold := 20 - max(*mean, 9.6); cold > 0 {
			days += rounded(12 * cold / 10.4)
			warn("Cold: buds begin after 8–9 days above 20 °C and after 20.5 days at 9.6 °C (Adams et al. 1998).")
		}
	}
	if night := c.Climate.Night; night != nil {
		switch {
		case *night > 23:
			days += 14
			late += 7
			warn("Nights above 23 °C in the first two weeks of short days stop buds, later ones delay them (Smith & Pundt): 1 to 3 weeks in the field (Purdue 2010).")
		case *night < 10:
			late += 12
			warn("Nights of 4.5 to 10 °C delay until buds show (Vince 1960): the bloom may be later than reckoned.")
		}
	}
	if c.Climate.Night == nil && c.Climate.Mean == nil && c.Place.Known() && alwaysShort(c, c.Place.Lat) {
		late += 21
		warn("Nights above 23 °C would delay the bloom by 1 to 3 weeks (Purdue 2010), which cannot be known without temperatures.")
	} else if c.Climate.Night == nil && c.Climate.Mean == nil && hours > 13.5 {
		late += 21
		warn("Short days begin in the warm season here: nights above 23 °C would delay the bloom by 1 to 3 weeks (Purdue 2010), which cannot be known without temperatures.")
	}
	switch light := c.Climate.Light; {
	case light != nil && *light < 30:
		days += rounded(21 * (30 - max(*light, 15)) / 15)
		warn("Low light: 10 weeks at 30 cal cm⁻² d⁻¹ become 13 at 15 (Acta Hort. 22, 1971).")
	case light == nil && hours > 0 && hours < lowLight:
		late += 21
		warn("Short days begin in the dark months here: in low light 10 weeks become as many as 13 (Acta Hort. 22, 1971).")
	}
	return days, late, warnings
}
