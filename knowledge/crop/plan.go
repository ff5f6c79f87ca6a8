package crop

import (
	"cmp"
	"fmt"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/variety"
)

// Backwards reckons the plan of a target: every step that leads to the bloom wanted, moved by what was done.
// With no target it reckons the year that keeps the variety: boxed, woken, a few cuttings, and boxed again.
// today decides which season is meant where nothing was done yet, and what is already too late.
func Backwards(c Case, today calendar.Day) Plan {
	d := begin(c, today)
	if c.Wanted.From.IsZero() {
		d.keep()
	} else {
		d.reach()
	}
	slices.SortStableFunc(d.Steps, func(a, b Step) int { return cmp.Compare(a.Window.Likely, b.Window.Likely) })
	return d.Plan
}

// draft is a plan in the making.
type draft struct {
	Case
	Plan
	today calendar.Day
	done  map[Kind]calendar.Day
	// stop is when to stop, or when it was; short is the start of short days where they are made.
	stop  calendar.Window
	short calendar.Window
	// cut is when cuttings are taken, potted when they are in their first pots.
	cut, potted calendar.Window
	// lastStop is the last stop that still serves; zero where any does.
	lastStop calendar.Day
	// lostAfter is what becomes of a later stop than the last.
	lostAfter string
	// anytime is set where every day of the year is short.
	anytime bool
}

func begin(c Case, today calendar.Day) *draft {
	c.passed = &passages{known: make([]passage, 0, 4)}
	d := &draft{Case: c, today: today, done: latestDone(c.Done), Plan: Plan{Steps: make([]Step, 0, 32)}}
	if d.anytime = c.Place.Known() && alwaysShort(c, c.Place.Lat); !d.anytime {
		d.warn(inexact(c))
	}
	return d
}

// inexact says what it costs that only a zone is known of the place.
func inexact(c Case) string {
	if !c.Place.Known() || c.Place.Exact {
		return ""
	}
	days := daylight.DaysPerDegree(c.Place.Point, critical(c).Flower, daylight.Autumn, 2027, daylight.Sunrise)
	if days <= 0 || days > 60 { // no crossing here, or a degree on
		return "Only your time zone is known, so its reference point stands in for your place: tell the position with /grower place."
	}
	return fmt.Sprintf("Only your time zone is known, so its reference point stands in for your place: each degree of latitude may move these dates by %.1f days. Tell the position with /grower place.", days)
}

func latestDone(done []Done) map[Kind]calendar.Day {
	latest := map[Kind]calendar.Day{}
	for _, d := range done {
		latest[d.Kind] = max(latest[d.Kind], d.On)
	}
	return latest
}

func (d *draft) warn(texts ...string) {
	for _, text := range texts {
		if text != "" && !slices.Contains(d.Warnings, text) {
			d.Warnings = append(d.Warnings, text)
		}
	}
}

// holding is by how many days at most a bud is held back by leaving side shoots on (yourgardeninginfo.com, securing
// the bud); hasten is by how many days a natural bloom may miss at the early end and still be tried for.
const (
	holding = 10
	hasten  = 7
)

// reach plans for a target: naturally where the day lies in the natural season, by controlled days where the place
// has them, and else not, with the nearest day that works.
func (d *draft) reach() {
	aim := d.Wanted.From.Add(d.Wanted.To.Sub(d.Wanted.From) / 2)
	s := seasonOf(d.Case, aim)
	if s.basis == Nothing && !s.anytime {
		s = fromAim(d.Case, s, aim)
	}
	earliest, latest := s.bloom(s.first), s.bloom(s.last)
	if frost := d.frostLimit(latest); frost < latest {
		latest = max(frost, earliest)
	}
	switch way := d.choose(s, aim, earliest, latest); way {
	case Natural:
		if aim > latest && latest == s.bloom(s.last) {
			d.warn(fmt.Sprintf("The stop alone brings this variety to %s here; side shoots left on hold the bud back by %d days at most.", latest.Long(), holding))
		}
		d.Way = way
		d.natural(s, aim)
	case Shaded, Lit:
		d.Way = way
		d.controlled(aim)
	default:
		d.refuse(s, aim, earliest, latest)
	}
}

// fromAim takes the day aimed at for the natural bloom where nothing is known of it.
func fromAim(c Case, s seasonal, aim calendar.Day) seasonal {
	s.pairs = []pair{{aim.Add(-usual(c.Variety).Likely), aim}}
	s.first, s.last = s.pairs[0].stop, s.pairs[0].stop
	s.safe = max(s.last, LastSafeStop(c, s.last))
	s.rules, s.least = 0, 0
	return s
}

func (d *draft) choose(s seasonal, aim, earliest, latest calendar.Day) Way {
	switch {
	case d.Wanted.Way != AnyWay && !d.can(d.Wanted.Way):
		return AnyWay
	case d.anytime && d.Wanted.Way == AnyWay && d.Place.Lights && d.heldBack(aim, aim.Sub(s.pairs[0].stop)):
		return Lit
	case d.Wanted.Way == Shaded || d.Wanted.Way == Lit:
		return d.Wanted.Way
	case d.Wanted.To >= earliest.Add(-hasten) && d.Wanted.From <= latest.Add(holding):
		return Natural
	case d.Wanted.Way == Natural:
		return AnyWay
	case aim < earliest && d.Place.BlackOut:
		return Shaded
	case aim > latest && d.Place.Lights && d.frostLimit(aim) >= aim:
		return Lit
	}
	return AnyWay
}

// heldBack reports whether plants that were stopped already would bloom too long before a day for side shoots to hold
// the buds, so that only night lights do.
func (d *draft) heldBack(aim calendar.Day, days int) bool {
	on, ok := d.about(Stop, aim.Add(-days))
	return ok && on.Add(days+holding) < aim
}

// can reports whether the place has what a way needs.
func (d *draft) can(way Way) bool {
	return way == Natural || way == Shaded && d.Place.BlackOut && !d.anytime || way == Lit && d.Place.Lights
}

// frostLimit is the last day on which blooms stand: a fortnight after the first frost where there is no cover.
// One freezing night is usually survived, three in a row kill most (Evergreen Chrysanthemum Association).
func (d *draft) frostLimit(bloom calendar.Day) calendar.Day {
	if d.Place.Cover || d.Place.FirstFrost.IsZero() {
		return bloom
	}
	return min(bloom, d.Place.FirstFrost.Nearest(bloom).Add(14))
}

// refuse says why a target cannot be met here, and the nearest day that can.
func (d *draft) refuse(s seasonal, aim, earliest, latest calendar.Day) {
	r := &Refusal{Nearest: earliest, Way: Natural}
	if aim > earliest {
		r.Nearest = latest
	}
	over := aim > latest && latest <= d.today
	if over {
		next := seasonOf(d.Case, latest.Add(365))
		r.Nearest = next.bloom(next.first)
	}
	switch {
	case d.Wanted.Way != AnyWay && !d.can(d.Wanted.Way):
		need := "black-out"
		if d.Wanted.Way == Lit {
			need = "night lights"
		}
		r.Why = fmt.Sprintf("Your place has no %s; /grower place tells what it has.", need)
		if d.anytime && d.Wanted.Way == Shaded {
			r.Why = "Black-out changes nothing here, for every day of the year is short enough already: the stop alone settles the bloom."
		}
		if aim >= earliest && aim <= latest {
			r.Nearest = aim
		}
	case over:
		r.Why = fmt.Sprintf("Not with this variety here: its season is over, and it blooms again from %s (%s).", r.Nearest.Long(), s.why)
	case aim < earliest:
		r.Why = fmt.Sprintf("Not with this variety here: it blooms from %s (%s), and an earlier bloom needs black-out, which this place has not.", earliest.Long(), s.why)
	case latest < s.bloom(s.last):
		r.Why = fmt.Sprintf("Not with this variety here: the first frost is about %s and the place has no cover, so blooms stand until %s at the latest.", d.Place.FirstFrost, latest.Long())
	default:
		r.Why = fmt.Sprintf("Not with this variety here: it blooms until %s (%s), and a later bloom needs night lights, which this place has not.", latest.Long(), s.why)
	}
	d.Refusal = r
	d.warn(s.warnings...)
	d.Bloom = Forecast{Window: within(r.Nearest, s.spread), Basis: s.basis, Why: s.why}
}

// natural plans a natural bloom: the stop that leads to it, and every step by that stop.
func (d *draft) natural(s seasonal, aim calendar.Day) {
	planned := s.stopFor(aim)
	d.lastStop = max(planned, d.lastStopFor(s))
	d.lostAfter = lostBySafe
	if d.lastStop < s.safe || s.anytime {
		d.lostAfter = "the bloom comes after the days wanted"
	}
	d.stop = calendar.Window{Earliest: planned.Add(-stopTolerance), Likely: planned, Latest: planned.Add(stopTolerance)}
	if soonest := d.soonestStop(planned); soonest > planned {
		d.stop = d.stop.Shift(soonest.Sub(planned))
	}
	if on, ok := d.about(Stop, planned); ok {
		d.stop = calendar.On(on)
	}
	d.Bloom = d.forecast(s)
	d.doubt(s)
	d.steps(s.basis)
	d.judge(aim)
}

// lastStopFor is the last stop whose bloom may still fall on the last day wanted, and no later than the handbook's.
func (d *draft) lastStopFor(s seasonal) calendar.Day {
	last := s.first
	for stop := s.first; stop <= s.safe; stop++ {
		if s.bloom(stop).Add(-rounded(nineInTen*s.spread)) <= d.Wanted.To || d.Wanted.To.IsZero() {
			last = stop
		}
	}
	return last
}

// about gives the day a step was done, if that was within half a year of a day: this season and no other.
func (d *draft) about(k Kind, day calendar.Day) (calendar.Day, bool) {
	on, ok := d.done[k]
	season := 182
	if d.anytime { // one crop may follow another within the year
		season = 91
	}
	return on, ok && distance(on, day) <= season
}

// controlled plans a bloom by made short days: black-out begins them, the end of night lighting lets them begin.
func (d *draft) controlled(aim calendar.Day) {
	start, r := responseOf(d.Case).startFor(d.Case, aim)
	d.short = calendar.Window{Earliest: start.Add(-stopTolerance), Likely: start, Latest: start.Add(stopTolerance)}
	if on, ok := d.about(d.starter(), start); ok {
		d.short = calendar.On(on)
		r = responseOf(d.Case).startingAt(d.Case, on)
	}
	d.stop = d.short.Before(pinchToShortDays().span)
	d.lastStop = d.short.Latest.Add(-pinchToShortDays().span.Min)
	if soonest := d.soonestStop(d.stop.Likely); soonest > d.stop.Likely {
		d.stop = d.stop.Shift(soonest.Sub(d.stop.Likely))
		if _, begun := d.about(d.starter(), start); !begun {
			d.short = notBefore(d.short, soonest.Add(pinchToShortDays().span.Min))
			d.lastStop = d.short.Latest.Add(-pinchToShortDays().span.Min)
			r = responseOf(d.Case).startingAt(d.Case, d.short.Likely)
		}
	}
	if on, ok := d.about(Stop, d.stop.Likely); ok {
		d.stop = calendar.On(on)
	}
	d.warn(r.warnings...)
	if season, _ := d.Variety.SeasonOrGuess(); season == variety.Early && d.Way == Shaded {
		d.warn("Early types are only weakly short-day (Langton 1978): black-out moves their bloom less surely than that of lates.")
	}
	d.Bloom = Forecast{Window: r.window(calendar.On(d.short.Likely)), Basis: r.basis, Why: r.why}
	d.Bloom = d.seen(d.Bloom)
	d.steps(r.basis)
	d.judge(aim)
}

// starter is the step with which the short days of the plan's way begin.
func (d *draft) starter() Kind {
	if d.Way == Lit {
		return LightEnd
	}
	return BlackOut
}

// judge says what can no longer be reached from today or from what was done.
func (d *draft) judge(aim calendar.Day) {
	_, begun := d.about(d.starter(), aim.Add(-60))
	_, stopped := d.about(Stop, d.stop.Likely)
	soonest := d.soonestStop(d.stop.Likely)
	switch {
	case d.Bloom.Window.IsZero() || d.picked():
	case (stopped || begun) && d.Wanted.To < d.Bloom.Window.Earliest:
		d.Missed = fmt.Sprintf("The bloom is now expected about %s, after the day wanted: set the target to that day, or ask the co-op for stems.", d.Bloom.Window.Likely.Long())
	case (stopped || begun) && d.Wanted.From > d.Bloom.Window.Latest:
		d.Missed = fmt.Sprintf("The bloom is now expected about %s, before the day wanted: side shoots left on hold the buds back by %d days at most.", d.Bloom.Window.Likely.Long(), holding)
	case !stopped && !begun && d.today > d.lastStop:
		d.Missed = fmt.Sprintf("The last safe stop was %s: pick what comes, or set a later target with another variety.", d.lastStop.Long())
	case !stopped && !begun && soonest > d.lastStop:
		d.Missed = fmt.Sprintf("After what was done so far the plants can be stopped from %s on, and the last safe stop is %s: plants rooted earlier, from the co-op, would still do.",
			soonest.Long(), d.lastStop.Long())
	case !stopped && !begun && !d.growing() && d.today > d.lastStrike(d.lastStop):
		d.Missed = fmt.Sprintf("Cuttings struck now come too late for a stop by %s: rooted plants from the co-op would still do until then.", d.lastStop.Long())
	}
	if last := d.lastWake(); d.Missed == "" && !stopped && !begun && !d.growing() && last != 0 && last < d.today {
		d.warn(fmt.Sprintf("Stools that are not woken yet come too late: the last safe day for it was %s. Plants rooted elsewhere in the co-op would still do: ask for them with /swap want.", last.Long()))
	}
	if from := d.Wanted.From; d.Missed == "" && !begun && !stopped && d.Way == Natural && aim < d.Bloom.Window.Earliest {
		d.warn(fmt.Sprintf("Reckoned from what was done, the bloom comes about %s rather than %s.", d.Bloom.Window.Likely.Long(), from.Long()))
	}
}

func (d *draft) picked() bool { return d.inBloom() || !d.doneAfterStop(Pick).IsZero() }

// growing reports whether young plants of this season stand already.
func (d *draft) growing() bool {
	for _, k := range []Kind{Strike, Pot, PotOn, PlantOut, FinalPot, House} {
		if on := d.done[k]; on > d.stop.Likely.Add(-365) {
			return true
		}
	}
	return false
}

// doneAfterStop gives the day a step of the end of the season was done, of this season and not of the one before.
func (d *draft) doneAfterStop(k Kind) calendar.Day {
	if on := d.done[k]; on > d.stop.Likely {
		return on
	}
	return 0
}
