package crop

import (
	"fmt"
	"math"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/variety"
)

// fromRecords reckons the season from blooms seen in earlier years: the member's own, else the co-op's.
func fromRecords(c Case, near calendar.Day) (seasonal, bool) {
	for _, own := range []bool{true, false} {
		var seen []Record
		for _, r := range c.Records {
			if r.Own == own && r.Way != Shaded && r.Way != Lit && !r.Bloomed.IsZero() {
				seen = append(seen, r)
			}
		}
		if len(seen) > 0 {
			return learn(c, seen, own, near), true
		}
	}
	return seasonal{}, false
}

// learn fits one line through the records: its middle is their mean, its slope the default shift weighed against them
// as if it had been seen over stops a fortnight to either side of their mean (2 × 14² square days).
func learn(c Case, seen []Record, own bool, near calendar.Day) seasonal {
	const prior = 2 * 14 * 14
	var stops, blooms []float64
	s := seasonal{shift: StopShift(c), basis: CoopRecords}
	deviation := math.Hypot(yearToYear, placeToPlace)
	who := "of the co-op"
	if own {
		s.basis, deviation, who = OwnRecords, yearToYear, "of your own"
	}
	for _, r := range seen {
		bloom, stop := r.Bloomed.Annual(), r.Stopped
		at := near
		if !own {
			bloom = mirrored(bloom, r.Lat, c.Place.Lat)
		}
		day := bloom.Nearest(at)
		if stop.IsZero() {
			stop = day.Add(-usual(c.Variety).Likely)
		} else {
			stop = day.Add(-r.Bloomed.Sub(stop))
		}
		if !own {
			day = day.Add(s.carry(c, r.Lat, earlyElsewhere, dayElsewhere))
		}
		stops, blooms = append(stops, float64(stop)), append(blooms, float64(day))
	}
	stop, bloom := mean(stops), mean(blooms)
	var sxx, sxy float64
	for i := range stops {
		sxx += (stops[i] - stop) * (stops[i] - stop)
		sxy += (stops[i] - stop) * (blooms[i] - bloom)
	}
	s.shift = min(max((prior*s.shift+sxy)/(prior+sxx), 0), 1)
	s.pairs = []pair{{calendar.Day(rounded(stop)), calendar.Day(rounded(bloom))}}
	s.spread = learnt(deviation, len(seen))
	s.why = plural(len(seen), "bloom", "blooms") + " " + who
	return s
}

// carry moves evidence from another latitude to this place by the day length that buds flower at, and widens it by the
// deviation given for earlies or the others.
func (s *seasonal) carry(c Case, from, early, other float64) (days int) {
	if !c.Place.Known() {
		return 0
	}
	wide, warning := elsewhere(c, from, early, other)
	s.abroad = max(s.abroad, wide)
	s.warn(warning)
	if season, _ := c.Variety.SeasonOrGuess(); season == variety.Early {
		return 0
	}
	days, ok := c.lag(critical(c).Flower, from, c.Place.Lat)
	if !ok {
		why := "Some day here or there never falls below"
		if alwaysShort(c, from) {
			why = "At the " + degrees(from) + " of the evidence every day is shorter than"
		}
		s.warn(why + " the length at which this variety flowers, so its season could not be carried over by day length.")
		s.abroad = max(s.abroad, nothingWidth)
		return 0
	}
	return days
}

func (s *seasonal) warn(text string) {
	for _, w := range s.warnings {
		if w == text {
			return
		}
	}
	if text != "" {
		s.warnings = append(s.warnings, text)
	}
}

// fromKey reckons the season from the variety's dated stops that name a bloom.
func fromKey(c Case, near calendar.Day) (seasonal, bool) {
	s := seasonal{shift: StopShift(c), basis: StopKey, spread: keyWidth}
	for _, k := range c.Variety.Stops {
		if k.Bloom.IsZero() {
			continue
		}
		move := s.carry(c, k.Lat, earlyElsewhere, dayElsewhere)
		bloom := mirrored(k.Bloom, k.Lat, c.Place.Lat).Nearest(near)
		stop := mirrored(k.On, k.Lat, c.Place.Lat).Nearest(bloom.Add(-150))
		s.pairs = append(s.pairs, pair{stop, bloom.Add(move)})
		s.why = fmt.Sprintf("the stop of %s given for %s", k.On, degrees(k.Lat))
		if k.Source != "" {
			s.why += " by " + k.Source
		}
	}
	return s, len(s.pairs) > 0
}

// fromVariety reckons the season from the natural bloom day, else the class, else from nothing at all, and says so.
func fromVariety(c Case, near calendar.Day) seasonal {
	season, _ := c.Variety.SeasonOrGuess()
	s := seasonal{shift: StopShift(c)}
	var bloom calendar.Day
	switch on, lat, ok := naturalDay(c.Variety, season); {
	case ok && !c.Variety.Natural.On.IsZero():
		s.basis, s.spread = NaturalDay, naturalWidth
		s.why = fmt.Sprintf("natural bloom on %s given for %s", on, degrees(lat))
		bloom = mirrored(on, lat, c.Place.Lat).Nearest(near).Add(s.carry(c, lat, earlyElsewhere, dayElsewhere))
	case ok:
		s.basis, s.spread = ClassOnly, classWidth
		s.why = "season class " + string(season)
		s.warn("Only the season class is known, which is a month wide: a dated stop, a natural bloom day or one recorded bloom makes this narrower.")
		bloom = mirrored(on, lat, c.Place.Lat).Nearest(near).Add(s.carry(c, lat, classElsewhere, classElsewhere))
	default:
		s.basis, s.spread, bloom = Nothing, nothingWidth, rulebook(time.October, 15, c.Place, near)
		s.why = "nothing: the season of this variety is not known"
		s.warn("Nothing is known of when this variety blooms: tell its season class, a dated stop or a natural bloom day with /variety add.")
	}
	s.pairs = []pair{{bloom.Add(-usual(c.Variety).Likely), bloom}}
	if len(c.Variety.Stops) > 0 { // a key that gives the stop alone
		k := c.Variety.Stops[0]
		stop := mirrored(k.On, k.Lat, c.Place.Lat).Nearest(bloom.Add(-150))
		s.pairs = []pair{{stop, bloom}}
		s.basis, s.why = StopKey, fmt.Sprintf("the stop of %s given for %s, and %s", k.On, degrees(k.Lat), s.why)
	}
	return s
}

// naturalDay gives the natural bloom as printed, else the middle of the class's month (NCS (UK): September, October,
// November).
func naturalDay(v variety.Variety, season variety.Season) (on calendar.Annual, lat float64, ok bool) {
	if !v.Natural.On.IsZero() {
		return v.Natural.On, v.Natural.Lat, true
	}
	month := map[variety.Season]time.Month{variety.Early: time.September, variety.Mid: time.October, variety.Late: time.November}[season]
	return calendar.Annual{Month: month, Day: 15}, handbookLat, month != 0
}

// usual is the usual time from the stop to the bloom.
func usual(v variety.Variety) calendar.Span {
	season, _ := v.SeasonOrGuess()
	return stopping(season).span
}

// shortDaysFrom is the first day of the autumn after a stop on which the day is short enough for buds.
func shortDaysFrom(c Case, after calendar.Day) (calendar.Day, bool) {
	return autumnCrossing(c, critical(c).Bud, after, daylight.Sunrise)
}

// autumnCrossing is the autumn crossing nearest to two months after a day; ok is false where the place is not known or
// never passes that length.
func autumnCrossing(c Case, hours float64, after calendar.Day, def daylight.Definition) (calendar.Day, bool) {
	if !c.Place.Known() {
		return 0, false
	}
	on, ok := daylight.Crossing(c.Place.Point, hours, daylight.Autumn, after.Add(60).Year(), def)
	if !ok {
		return 0, false
	}
	return on.Annual().Nearest(after.Add(60)), true
}

func mean(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(len(xs))
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
