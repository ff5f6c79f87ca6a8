package crop

import (
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/variety"
)

// days writes the black-out or night-lighting programme.
func (d *draft) days() {
	switch d.Way {
	case Shaded:
		d.blackOut()
	case Lit:
		d.light()
	}
}

// blackOut runs from the start of short days until buds show colour (cut and pot types) or for four weeks (garden
// types): both ends are shown, and neither goes on once the day itself is short enough.
func (d *draft) blackOut() {
	const source = "K. Post, N.Y. State Flower Growers Bull. 9 (1946); Nikolova 1966–68 (18:00–07:00 at Plovdiv); Runkle & Vaid, GPN 2013"
	start := d.from(BlackOut, d.short)
	colour := d.Bloom.Window.Before(colouring().span)
	garden := start.Shift(28)
	end := calendar.Window{Earliest: min(garden.Earliest, colour.Earliest), Likely: colour.Likely, Latest: max(garden.Latest, colour.Latest)}
	text := "when buds show colour (cut and pot types); garden types after 4 weeks of short days"
	if on, ok := autumnCrossing(d.Case, critical(d.Case).Flower, start.Likely, daylight.Sunrise); ok && on > start.Likely && on < end.Likely {
		end = calendar.Window{Earliest: min(end.Earliest, on), Likely: on, Latest: max(on, end.Latest)}
		text += fmt.Sprintf("; from %s the day itself is short enough (%s)", on.Long(), daylight.Sunrise.Describe())
	}
	d.add(Step{Kind: BlackOut, Window: start, Clock: "17:00–07:00", Source: source, LastSafe: d.Wanted.To.Add(-d.Bloom.Window.Likely.Sub(start.Likely)),
		Rule: "every night; in heat cover no earlier than sunset, or open again after dark", Lost: "the bloom comes after the days wanted"})
	d.add(Step{Kind: BlackOutEnd, Window: end, Rule: text, Source: source})
}

// light runs from when the day falls below the length at which buds are set, or from striking where it is below that
// already, until the start of short days.
func (d *draft) light() {
	const source = "Runkle, MSU 2007; K. Post, N.Y. State Flower Growers Bull. 9 (1946): 00:00–00:30 from 15 Aug, 00:00–04:00 from 1 Nov at 42.4° N; Illinois State Florists' Assn Bull. 224 (cyclic)"
	end := d.from(LightEnd, d.short)
	if on, ok := d.shortened(end.Likely); ok {
		start := calendar.Window{Earliest: on.Add(-7), Likely: on, Latest: on.Add(7)}
		if plant, ok := autumnCrossing(d.Case, critical(d.Case).Bud, end.Likely.Add(-90), daylight.Plant); ok {
			start.Latest = max(on, plant.Annual().Nearest(on))
		}
		text, source := "before", source
		if struck := d.from(Strike, d.cut); struck.Likely > start.Latest {
			start, text, source = struck, "from striking on, for it is past the day on which", source+"; "+common
			if alwaysBelow(d.Place.Lat, critical(d.Case).Bud) {
				text = "from striking on, for all year"
			}
		}
		d.add(Step{Kind: Light, Window: start, Clock: "22:00–02:00", Source: source, LastSafe: start.Latest, Lost: "buds are set and the bloom can no longer be held back",
			Rule: fmt.Sprintf("%s the day falls below %g h (%s); or 3 minutes in every 30 at 10 foot-candles (about 108 lx) or more", text, critical(d.Case).Bud, daylight.Sunrise.Describe())})
	}
	d.add(Step{Kind: LightEnd, Window: end, Source: source, Rule: "short days begin; " + d.Bloom.Why})
	d.warn("Night lighting is mains electricity near water: a qualified electrician and the local code decide.")
}

// shortened is when the day last fell below the length at which buds are set; ok is false where it has not yet when the
// lights end, so that there is nothing to light.
func (d *draft) shortened(end calendar.Day) (calendar.Day, bool) {
	bud := critical(d.Case).Bud
	on, ok := autumnCrossing(d.Case, bud, end.Add(-90), daylight.Sunrise)
	if !ok && d.Place.Known() && alwaysBelow(d.Place.Lat, bud) {
		return end.Add(-365), true
	}
	if !ok || on < end {
		return on, ok
	}
	return on.Annual().In(on.Year() - 1), daylight.Hours(d.Place.Point, end-1, daylight.Sunrise) < bud
}

// budding writes what is done to the buds, by form (RHS): sprays lose the large centre bud, singles keep the centre
// and lose the sides, disbudded forms keep one bud a stem.
func (d *draft) budding() {
	if d.Bloom.Window.IsZero() {
		return
	}
	bud := budding()
	at := d.Bloom.Window.Before(bud.span)
	switch form, _ := d.Variety.FormOrGuess(); form {
	case variety.CharmCascade, variety.Pompon:
	case variety.Spray:
		d.add(Step{Kind: Disbud, Window: at, Rule: "take out only the large centre bud of a spray", Source: "RHS; " + bud.source})
	case variety.Single:
		d.add(Step{Kind: Disbud, Window: at, Rule: "keep the centre bud of a single and take the sides", Source: "RHS; " + bud.source})
	default:
		d.add(Step{Kind: TakeBud, Window: at, Rule: "keep the best bud a stem; " + bud.text, Source: bud.source})
		d.add(Step{Kind: Disbud, Window: d.from(TakeBud, at).After(calendar.Span{Min: 4, Likely: 7, Max: 14}), Rule: "rub out the side buds and shoots while small", Source: common})
	}
	colour := colouring()
	d.add(Step{Kind: BudColour, Window: d.Bloom.Window.Before(colour.span), Rule: colour.text, Source: colour.source})
	d.add(Step{Kind: Pick, Window: d.Bloom.Window, Basis: d.Bloom.Basis, Rule: d.Bloom.Why})
}

// cover brings lates, and whatever blooms after the first frost, under cover.
func (d *draft) cover() {
	if !d.Place.Cover || d.Bloom.Window.IsZero() {
		return
	}
	bloom := d.Bloom.Window.Likely
	frost := d.Place.FirstFrost.Nearest(bloom)
	if !d.pots() && (frost == 0 || frost > d.Bloom.Window.Latest) {
		return
	}
	at := rulebook(time.September, 30, d.Place, bloom.Add(-30))
	text := "end of September (British handbook), or when petals show"
	if frost != 0 && frost.Add(-7) < at {
		at, text = frost.Add(-7), "a week before the first frost of "+d.Place.FirstFrost.String()
	}
	at = min(at, bloom.Add(-14))
	window := calendar.Window{Earliest: at.Add(-10), Likely: at, Latest: at.Add(7)}
	step := Step{Kind: House, Window: window, Rule: text, Source: "thegardeningbible.com; " + evergreen + " 2019"}
	if frost != 0 {
		step.LastSafe, step.Lost = max(frost.Add(-1), at), "frost takes the open petals"
	}
	d.add(step)
	d.add(Step{Kind: Ventilate, Window: d.from(House, window), Rule: "everything open for the first week under cover", Source: evergreen + " 2019"})
}

// clearing writes the end of the season: cut down, labelled, lifted and boxed.
func (d *draft) clearing() {
	if d.Bloom.Window.IsZero() {
		return
	}
	rule := clearing()
	down := d.from(CutDown, d.from(Pick, d.Bloom.Window).After(rule.span))
	frost := d.Place.FirstFrost.Nearest(down.Likely)
	last := calendar.Day(0)
	if frost != 0 && frost > d.Bloom.Window.Likely {
		last = max(frost, down.Earliest)
		down.Likely, down.Latest = min(down.Likely, last), max(down.Earliest, min(down.Latest, last.Add(7)))
	}
	const lost = "one freezing night is usually survived, three in a row kill most stools (below −2.2 °C)"
	d.add(Step{Kind: CutDown, Window: down, Rule: rule.text, Source: rule.source, LastSafe: last, Lost: lost})
	d.add(Step{Kind: Label, Window: down, Rule: "in pencil, one variety to a box, before anything is lifted", Source: common + "; P. Barlow, Calendar, 2001"})
	lift := d.from(Lift, down.After(calendar.Span{Min: 0, Likely: 2, Max: 7}))
	d.add(Step{Kind: Lift, Window: lift, Rule: "soil off, before hard frost", Source: southport, LastSafe: last, Lost: lost})
	d.add(Step{Kind: Box, Window: lift, Rule: "close together in barely moist compost, cool and frost-free", Source: southport + "; P. Barlow, Calendar, 2001"})
}

// keep plans the year that keeps a variety without a target.
func (d *draft) keep() {
	s := d.expect()
	d.warn(d.Warnings...)
	if d.Bloom.Window.IsZero() && d.Way == Natural {
		d.Bloom = Forecast{Basis: Nothing, Why: d.Bloom.Why}
	}
	d.steps(s.basis)
}
