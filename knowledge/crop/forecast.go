package crop

import (
	"shortday/knowledge/calendar"
)

// forecast reckons the bloom of a natural plan from its stop, and from what was seen since.
func (d *draft) forecast(s seasonal) Forecast {
	stop := d.stop
	if second, ok := d.done[SecondStop]; ok && second > stop.Likely && d.keySecond() == 0 {
		stop = calendar.On(second.Add(-secondStopping().span.Likely))
	}
	window := within(s.bloom(stop.Likely), s.spread)
	days, late, warnings := 0, 0, []string(nil)
	if !s.anytime && (d.Climate.Mean != nil || d.Climate.Night != nil || d.Climate.Light != nil) {
		start := s.rules
		if start == 0 {
			start = stop.Likely.Add(usual(d.Variety).Likely / 2)
		}
		days, late, warnings = delays(d.Case, start)
	}
	d.warn(warnings...)
	window = window.Shift(days)
	window.Latest = window.Latest.Add(max(late, s.late))
	return d.seen(Forecast{Window: window, Basis: s.basis, Why: s.why})
}

// keySecond is by how many days the second stop of a dated key follows its first; 0 where the key has one stop.
func (d *draft) keySecond() int {
	for _, k := range d.Variety.Stops {
		if !k.Second.IsZero() {
			return k.Second.Nearest(k.On.In(2001).Add(40)).Sub(k.On.In(2001))
		}
	}
	return 0
}

// seen narrows a forecast by what the plants themselves have shown: the bud taken, colour, the first blooms.
func (d *draft) seen(f Forecast) Forecast {
	if on := d.doneAfterStop(TakeBud); on != 0 {
		w := calendar.On(on).After(budding().span)
		if !f.Window.IsZero() {
			w = blend(f.Window, w)
		}
		f = Forecast{Window: w, Basis: BudTaken, Why: "the bud taken on " + on.Long() + ", with " + orNothing(f.Why)}
	}
	if on := d.doneAfterStop(BudColour); on != 0 {
		f = Forecast{Window: calendar.On(on).After(colouring().span), Basis: Colour, Why: "bud colour seen on " + on.Long()}
	}
	if d.inBloom() {
		f = Forecast{Window: calendar.On(d.Bloomed), Basis: Recorded, Why: "bloom seen on " + d.Bloomed.Long()}
	}
	if on := d.doneAfterStop(Pick); on != 0 {
		f = Forecast{Window: calendar.On(on), Basis: Recorded, Why: "picked on " + on.Long()}
	}
	return f
}

// inBloom reports whether the bloom of the season planned was seen.
func (d *draft) inBloom() bool { return d.Bloomed > d.stop.Likely }

// doubt warns of what the evidence for the season leaves open, unless the plants have shown it since.
func (d *draft) doubt(s seasonal) {
	if d.Bloom.Basis != Colour && d.Bloom.Basis != Recorded {
		d.warn(s.warnings...)
	}
}

func orNothing(why string) string {
	if why == "" {
		return "nothing else"
	}
	return why
}

// Forwards forecasts the bloom from what was done alone, without a target: the latest of colour seen, bud taken, short
// days begun, stopped, planted, potted, struck or woken. The window is zero where nothing can be said.
func Forwards(c Case, today calendar.Day) Forecast {
	d := begin(c, today)
	d.expect()
	d.Bloom.Warnings = d.Warnings
	return d.Bloom
}

// expect fills in the bloom of plants without a target, and the stop it rests on.
func (d *draft) expect() seasonal {
	for _, begin := range []Kind{BlackOut, LightEnd} {
		if on := d.done[begin]; on > d.done[Box] {
			d.Way = Shaded
			if begin == LightEnd {
				d.Way = Lit
			}
			r := responseOf(d.Case).startingAt(d.Case, on)
			d.short = calendar.On(on)
			d.stop = d.short.Before(pinchToShortDays().span)
			d.warn(r.warnings...)
			d.Bloom = d.seen(Forecast{Window: r.window(d.short), Basis: r.basis, Why: r.why})
			return seasonal{}
		}
	}
	d.Way = Natural
	s := seasonOf(d.Case, d.season())
	usualStop := s.pairs[0].stop
	d.stop = calendar.Window{Earliest: usualStop.Add(-stopTolerance), Likely: usualStop, Latest: usualStop.Add(stopTolerance)}
	if soonest := d.soonestStop(usualStop); soonest > usualStop {
		d.stop = d.stop.Shift(soonest.Sub(usualStop))
	}
	if s.anytime {
		d.expectAnytime(s)
		return s
	}
	if on, ok := d.about(Stop, usualStop); ok {
		d.stop = calendar.On(on)
	}
	d.lastStop = s.safe
	d.Bloom = d.forecast(s)
	d.doubt(s)
	if s.basis == Nothing && d.Bloom.Basis == Nothing {
		d.fromNothing()
	}
	return s
}

// fromNothing says what can be said of a variety whose season is not known: with a stop, the range of all season
// classes, 16 to 23 weeks; without one, nothing.
func (d *draft) fromNothing() {
	on, ok := d.about(Stop, d.stop.Likely)
	if !ok {
		d.Bloom = Forecast{Basis: Nothing, Why: d.Bloom.Why}
		return
	}
	d.Bloom.Window = calendar.On(on).After(calendar.Weeks(16, 19.5, 23))
	d.Bloom.Why = "the stop alone, 16–23 weeks over all season classes (" + common + ")"
}

// season gives a day near the bloom that the plants now grow towards: the usual time after the latest step done, else
// the next natural bloom from today.
func (d *draft) season() calendar.Day {
	lags := []struct {
		kind Kind
		days int
	}{
		{BudColour, 32}, {TakeBud, 45}, {House, 30}, {SecondStop, 120}, {Stop, 150}, {PlantOut, 150}, {FinalPot, 150},
		{PotOn, 180}, {Pot, 210}, {Strike, 230}, {Cut, 230}, {Wake, 255}, {Box, 330},
	}
	var latest, bloom calendar.Day
	for _, l := range lags {
		if on, ok := d.done[l.kind]; ok && on > latest {
			latest, bloom = on, on.Add(l.days)
		}
	}
	if latest == 0 {
		return d.today.Add(168) // the occurrence nearest to this lies between a fortnight ago and eleven months on
	}
	return bloom
}
