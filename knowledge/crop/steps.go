package crop

import (
	"cmp"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

// steps writes every step that leads to the bloom and follows it. d.stop and d.Bloom are set.
func (d *draft) steps(basis Basis) {
	d.waking()
	d.raising()
	d.summer(basis)
	d.days()
	d.budding()
	d.cover()
	d.clearing()
}

// add puts a step in: as done where it was done this season, and not at all where a later step of the year shows that
// it must have been.
func (d *draft) add(s Step) {
	if on, ok := d.doneThisSeason(s.Kind); ok {
		s.Window, s.Done, s.Basis, s.LastSafe = calendar.On(on), true, Recorded, 0
	} else if d.overtaken(s.Kind) {
		return
	}
	if s.LastSafe == 0 {
		s.LastSafe, s.Lost = 0, ""
	}
	if s.Basis == "" {
		s.Basis = Handbook
	}
	d.Steps = append(d.Steps, s)
}

// The later places in the order of the year.
const (
	planted = 9 + iota
	stopped
	blooming
	picked
)

// order gives a kind's place in the year; a done step makes all open ones before it moot.
func order(k Kind) int {
	for i, before := range []Kind{Chill, WakeWater, Wake, CutWater, Cut, Strike, Pot} {
		if k == before {
			return i + 1
		}
	}
	switch k {
	case PotOn, HardenOff, RepotWater:
		return planted - 1
	case PlantOut, FinalPot, Support, Feed:
		return planted
	case Stop, SecondStop, BlackOut, Light:
		return stopped
	case BlackOutEnd, LightEnd, TakeBud, Disbud, House, Ventilate, BudColour:
		return blooming
	case Pick:
		return picked
	case CutDown, Label:
		return picked + 1
	case Lift:
		return picked + 2
	case Box:
		return picked + 3
	}
	return 0
}

// free kinds are done beside the others and overtaken only by the bloom: a plant may be stopped before or after it is
// planted, supported or disbudded at any time.
func free(k Kind) bool { return order(k) >= planted && order(k) <= blooming }

func (d *draft) overtaken(k Kind) bool {
	if d.inBloom() && order(k) > 0 && order(k) < picked {
		return true
	}
	for other := range d.done {
		if order(other) <= order(k) || free(k) && order(other) < picked && !follows(k, other) {
			continue
		}
		if _, ok := d.doneThisSeason(other); ok {
			return true
		}
	}
	return false
}

// follows reports whether the later of two free kinds shows that the earlier is over.
func follows(early, late Kind) bool {
	switch early {
	case PlantOut, FinalPot:
		return late == House
	case Stop:
		return late == SecondStop || late == TakeBud || late == BudColour
	case TakeBud, Disbud:
		return late == BudColour
	}
	return false
}

// doneThisSeason gives when a step was done, if that was in the season planned: steps of its end only after the stop,
// stops within half a year of the one planned, the others in the ten months before it.
func (d *draft) doneThisSeason(k Kind) (calendar.Day, bool) {
	on, ok := d.done[k]
	switch {
	case !ok:
		return 0, false
	case order(k) >= blooming:
		return on, on > d.stop.Likely
	case order(k) == stopped:
		return d.about(k, d.stop.Likely)
	}
	return on, on > d.stop.Likely.Add(-300) && (d.Bloom.Window.IsZero() || on <= d.Bloom.Window.Latest.Add(30))
}

// from gives the window a step follows from: the day it was done, else the window reckoned.
func (d *draft) from(k Kind, reckoned calendar.Window) calendar.Window {
	if on, ok := d.doneThisSeason(k); ok {
		return calendar.On(on)
	}
	return reckoned
}

// waking reckons from the cold store to the cuttings, backwards from striking and forwards from what was done.
func (d *draft) waking() {
	strike := d.strike()
	wake := waking(d.Place)
	woken, wake := d.stock(strike.Before(wake.span), wake)
	woken = d.from(Wake, woken)
	chill := chilling()
	if boxed, ok := d.done[Box]; ok && boxed <= woken.Likely {
		if _, done := d.doneThisSeason(Wake); !done && woken.Likely.Sub(boxed) < chill.span.Min {
			woken = woken.Shift(chill.span.Min - woken.Likely.Sub(boxed))
			d.warn(fmt.Sprintf("The stools were boxed on %s: before %s they have had too little cold to lengthen.", boxed.Long(), woken.Likely.Long()))
		}
	} else {
		d.add(Step{Kind: Chill, Window: woken.Before(chill.span), Rule: chill.text, Source: chill.source})
	}
	d.add(Step{Kind: WakeWater, Window: woken.Shift(-1), Rule: "the evening before stools are taken out to wake", Source: common})
	last, lastWake := d.lastStrike(d.lastStop), calendar.Day(0)
	if last != 0 {
		lastWake = last.Add(-wake.span.Min)
	}
	d.add(Step{Kind: Wake, Window: woken, Rule: wake.text, Source: wake.source, LastSafe: lastWake, Lost: "cuttings come too late for the last safe stop"})
	cut := d.from(Cut, d.struck(woken))
	d.add(Step{Kind: CutWater, Window: cut.Shift(-1), Rule: "the day before taking cuttings; never cut from a dry plant", Source: southport})
	d.add(Step{Kind: Cut, Window: cut, Rule: wake.text, Source: wake.source, LastSafe: last, Lost: "rooted plants come too late for the last safe stop"})
	d.cut = cut
}

// struck is when cuttings are struck from stools woken in a window: on the day that the stop asks for, or as soon as the
// shoots are long enough, and not so late that the stop cannot be kept where it still can.
func (d *draft) struck(woken calendar.Window) calendar.Window {
	wanted, wake := d.strike(), waking(d.Place)
	if _, done := d.doneThisSeason(Wake); !done || d.quick() {
		return notBefore(wanted, woken.Likely.Add(wake.span.Min))
	}
	return pressed(woken, wake.span, d.lastStrike(d.stop.Likely))
}

// stock holds waking to the end of winter: stools do not rest into the summer. Where cuttings are wanted later, the
// woken stools are kept in growth as stock plants until then.
func (d *draft) stock(woken calendar.Window, wake rule) (calendar.Window, rule) {
	spring := rulebook(time.April, 1, d.Place, woken.Likely)
	if d.Way == Natural || woken.Likely <= spring {
		return woken, wake
	}
	wake.text, wake.source = "woken by the end of winter and kept in growth as stock plants until cuttings are wanted", common
	return calendar.Window{Earliest: spring.Add(-31), Likely: spring, Latest: spring.Add(14)}, wake
}

// strike is the window of striking: back from the stop by the time a plant takes to be stopped at about 20 cm.
func (d *draft) strike() calendar.Window {
	stop := d.stop
	if stop.Known() {
		stop = calendar.Window{Earliest: stop.Likely.Add(-stopTolerance), Likely: stop.Likely, Latest: stop.Likely.Add(stopTolerance)}
	}
	if d.quick() {
		return notAfter(stop.Before(plantToPinch().span).Before(strikeToPlant().span), d.lastStrike(d.stop.Likely))
	}
	return notAfter(stop.Before(growing().span), d.lastStrike(d.stop.Likely))
}

// raising reckons from striking to the small pots.
func (d *draft) raising() {
	struck := d.from(Strike, d.cut)
	rule := growing()
	d.add(Step{Kind: Strike, Window: struck, Rule: rule.text, Source: rule.source, LastSafe: d.lastStrike(d.lastStop), Lost: "rooted plants come too late for the last safe stop"})
	root := rooting(d.Place, d.dark(struck.Likely))
	potted := d.from(Pot, struck.After(root.span))
	d.potted = potted
	d.add(Step{Kind: Pot, Window: potted, Rule: root.text + ", then a 9 cm pot at once", Source: root.source + "; " + ncsIncurve})
}

// potOn writes the next pot, unless the plants go into the bed before they fill the first, and gives its window.
func (d *draft) potOn(out calendar.Window) calendar.Window {
	rule := pottingOn()
	again := d.from(PotOn, d.potted.After(rule.span))
	if _, done := d.doneThisSeason(PotOn); done || d.pots() || again.Likely <= out.Likely {
		d.add(Step{Kind: PotOn, Window: again, Rule: rule.text, Source: rule.source})
	}
	return again
}

// dark reports whether cuttings struck on a day root in low light: a day of less than 9.5 hours.
func (d *draft) dark(on calendar.Day) bool {
	return d.Place.Known() && dark(d.Place.Point, on)
}

// darkBelow is the day length in hours below which plants hardly grow: common practice.
const darkBelow = 9.5

func dark(at place.Point, on calendar.Day) bool {
	return daylight.Hours(at, on, daylight.Sunrise) < darkBelow
}

// pots reports whether the plants stand in pots and come under cover to bloom: lates at a place with cover.
func (d *draft) pots() bool {
	season, _ := d.Variety.SeasonOrGuess()
	return season == variety.Late && d.Place.Cover && !d.quick()
}

// summer reckons from planting to the stops.
func (d *draft) summer(basis Basis) {
	planted := d.planting()
	d.add(Step{Kind: Support, Window: planted.After(calendar.Span{Min: 0, Likely: 7, Max: 28}), Rule: "canes or netting while the plants are short", Source: common})
	d.add(Step{Kind: Feed, Window: planted.After(calendar.Span{Min: 18, Likely: 21, Max: 24}), Rule: "from about 3 weeks after potting or planting; stop when colour shows", Source: evergreen + "; thegardeningbible.com"})
	stop := Step{Kind: Stop, Window: d.stop, Basis: basis, Rule: d.Bloom.Why, LastSafe: d.lastStop, Lost: cmp.Or(d.lostAfter, lostBySafe)}
	if d.Way != Natural {
		rule := pinchToShortDays()
		stop.Rule, stop.Source, stop.Basis = rule.text+"; it settles quality, not the bloom day", rule.source, Handbook
		stop.Lost = "the stems stay short, for short days begin all the same"
	} else if d.anytime {
		stop.Source = reckoned
	} else if len(d.Variety.Stops) == 0 {
		rule := stopping(seasonName(d.Variety))
		stop.Rule, stop.Source = rule.text+"; at about 20 cm", rule.source+"; "+rhsGuide
	}
	d.add(stop)
	if stops, _ := d.Variety.StopsWantedOrDefault(); !d.quick() && (stops >= 2 || d.keySecond() > 0) { // made short days leave time for one
		second := secondStopping()
		if days := d.keySecond(); days > 0 {
			second = rule{calendar.Days(days), "the second stop of the dated key", "the key given for the variety"}
		}
		d.add(Step{Kind: SecondStop, Window: d.from(Stop, d.stop).After(second.span), Rule: second.text, Source: second.source})
	}
}

func seasonName(v variety.Variety) variety.Season {
	season, _ := v.SeasonOrGuess()
	return season
}

// planting reckons hardening off and planting out after the last frost, or the final pot, and gives the later's window.
func (d *draft) planting() calendar.Window {
	if d.quick() {
		planted := notBefore(d.stop.Before(plantToPinch().span), d.potted.Likely)
		if frost := d.Place.LastFrost.Nearest(planted.Likely); frost > planted.Likely {
			d.warn("Planting falls before the last frost of " + d.Place.LastFrost.String() + ": the bed needs a frost-free roof until then.")
		}
		d.add(Step{Kind: PlantOut, Window: planted, Rule: plantToPinch().text, Source: plantToPinch().source})
		return d.from(PlantOut, planted)
	}
	out, text := d.afterFrost()
	harden := out.Before(calendar.Span{Min: 28, Likely: 42, Max: 49})
	harden = d.from(HardenOff, notBefore(harden, d.potted.Likely.Add(rootThere)))
	d.add(Step{Kind: HardenOff, Window: harden, Rule: "cold frame from April, about six weeks before planting out, once rooted in their pots", Source: rhs})
	if !d.pots() {
		out = notBefore(out, harden.Likely.Add(hardening))
		d.potOn(out)
		d.add(Step{Kind: PlantOut, Window: out, Rule: text, Source: rhs})
		return d.from(PlantOut, out)
	}
	final := rulebook(time.June, 5, d.Place, d.stop.Likely)
	potted := notBefore(calendar.Window{Earliest: final.Add(-7), Likely: final, Latest: final.Add(10)}, d.potOn(out).Likely.Add(rootThere))
	d.add(Step{Kind: RepotWater, Window: potted.Shift(-1), Rule: "1 day before the final pot", Source: evergreen})
	d.add(Step{Kind: FinalPot, Window: potted, Rule: "final pot (22 cm) about early June for lates", Source: ncsIncurve})
	return d.from(FinalPot, potted)
}

// afterFrost is when to plant out: after the last frost where it is known, else by the handbook's mid-May.
func (d *draft) afterFrost() (calendar.Window, string) {
	if !d.Place.LastFrost.IsZero() {
		frost := d.Place.LastFrost.Nearest(d.stop.Likely.Add(-14))
		return calendar.Window{Earliest: frost.Add(3), Likely: frost.Add(7), Latest: frost.Add(24)}, "after the last frost of " + d.Place.LastFrost.String()
	}
	may := rulebook(time.May, 15, d.Place, d.stop.Likely.Add(-14))
	here := ""
	if d.Place.South() {
		here = ", here " + may.Annual().String()
	}
	d.warn(fmt.Sprintf("The last spring frost of your place is not known, so planting out follows a British handbook's mid-May%s: tell it with /grower place.", here))
	return calendar.Window{Earliest: may.Add(-14), Likely: may, Latest: may.Add(21)}, "mid-May (British handbook, about 52° N), after the last frost; 45 cm apart"
}
