package crop

import (
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

// alwaysShort reports whether every day of the year at a latitude is short enough for the variety to flower, as in the
// tropics: it then keeps no season, and blooms its response weeks after the stop whenever that is.
func alwaysShort(c Case, lat float64) bool { return alwaysBelow(lat, critical(c).Flower) }

// alwaysBelow reports whether the longest day of the year at a latitude is shorter than so many hours.
func alwaysBelow(lat, hours float64) bool {
	at := place.Point{Lat: lat}
	return max(daylight.Hours(at, calendar.DayOf(2027, time.June, 21), daylight.Sunrise),
		daylight.Hours(at, calendar.DayOf(2027, time.December, 22), daylight.Sunrise)) < hours
}

// fromStop reckons the bloom from the stop alone, where every day is short: a stop then begins short days.
func fromStop(c Case, near calendar.Day) seasonal {
	s := seasonal{shift: 1, anytime: true}
	r := responseOf(c)
	if days, ok := stopToBloom(c); ok {
		r = response{days: rounded(mean(days)), spread: learnt(yearToYear, len(days)), basis: OwnRecords, why: plural(len(days), "bloom", "blooms") + " of your own"}
	} else {
		r = r.startingAt(c, near.Add(-r.days))
	}
	s.basis, s.spread, s.why, s.late = r.basis, r.spread, r.why, r.late
	stop := near.Add(-r.days)
	s.warn(fmt.Sprintf("Every day of the year is shorter than %g h here (%s), so this variety keeps no season: it blooms about %s after the stop, whenever that is. "+
		"Black-out changes nothing; night lights hold it back, and young plants that are not lit bud while they are small.",
		critical(c).Flower, daylight.Sunrise.Describe(), plural(r.days, "day", "days")))
	if seasonName(c.Variety) == variety.Early {
		s.warn("Early types are only weakly short-day (Langton 1978), so this tells less of them than of lates.")
	}
	for _, w := range r.warnings {
		s.warn(w)
	}
	s.least = r.days
	s.pairs = []pair{{stop, near}}
	s.first, s.last = stop.Add(-reach), stop.Add(reach)
	s.safe = s.last
	return s
}

// stopToBloom gives how long blooms of the member's own took from their stops under days that were always short.
func stopToBloom(c Case) (days []float64, ok bool) {
	for _, r := range c.Records {
		if r.Own && r.Way != Shaded && r.Way != Lit && !r.Stopped.IsZero() && r.Bloomed > r.Stopped && alwaysShort(c, r.Lat) {
			days = append(days, float64(r.Bloomed.Sub(r.Stopped)))
		}
	}
	return days, len(days) > 0
}

// quick reports whether the plants grow as in controlled days: where they are made, and where every day is short.
func (d *draft) quick() bool { return d.anytime || d.Way == Shaded || d.Way == Lit }

// stopped gives the stop of the crop that stands; ok is false where it was not stopped yet.
func (d *draft) stopped() (on calendar.Day, ok bool) {
	on = d.done[Stop]
	return on, on != 0 && on >= max(d.done[Box], d.done[CutDown], d.done[Wake], d.done[Strike])
}

// sooner gives the stop that plants without a target are expected to have where every day is short: as soon as they can
// after what was done for them. ok is false where nothing was.
func (d *draft) sooner() (stop calendar.Day, ok bool) {
	latest := max(d.done[PlantOut], d.done[FinalPot], d.done[Pot], d.done[Strike], d.done[Cut], d.done[Wake], d.done[Box])
	if latest == 0 {
		return 0, false
	}
	if latest == d.done[FinalPot] {
		return latest.Add(plantToPinch().span.Min), true
	}
	stop = d.soonestStop(latest)
	return stop, stop != 0
}

// expectAnytime fills in the bloom of plants without a target where every day is short, and the stop it rests on. Where
// nothing was done no bloom can be told.
func (d *draft) expectAnytime(s seasonal) {
	on, stopped := d.stopped()
	soonest, begun := d.sooner()
	switch {
	case stopped:
		d.stop = calendar.On(on)
	case begun:
		d.stop = calendar.Window{Earliest: soonest.Add(-stopTolerance), Likely: soonest, Latest: soonest.Add(stopTolerance)}
		s.why += ", from " + soonest.Long() + ", the soonest stop after what was done"
	}
	d.Bloom = d.forecast(s)
	d.doubt(s)
	if !stopped && !begun && d.Bloom.Basis == s.basis {
		d.Bloom = Forecast{Basis: Nothing, Why: s.why}
	}
}
