package crop

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/variety"
)

// pair is one stop with the bloom it led or leads to.
type pair struct {
	stop, bloom calendar.Day
}

// seasonal is how a variety blooms by itself in one year at one place, as far as the evidence tells.
type seasonal struct {
	pairs       []pair       // by stop, blooms never falling
	shift       float64      // days of bloom a day of stopping beyond the pairs
	rules       calendar.Day // short days rule from here on: a later stop moves nothing; zero: never
	least       int          // days a stop takes at the least to bloom
	first, last calendar.Day // stops between which this holds
	safe        calendar.Day // the last that the handbook takes to bloom well; later than last where the evidence ends sooner
	spread      float64      // standard deviation in days
	abroad      float64      // a further one, for evidence from another latitude
	late        int          // days that the bloom may come later still, for what cannot be known
	anytime     bool         // every day is short: the stop alone tells, at any time of the year
	basis       Basis
	why         string
	warnings    []string
}

// reach is how far from a known stop the natural season is taken to follow the stop, in days: our own reckoning.
const reach = 28

// bloom gives the likely bloom of a stop. It never falls as the stop goes later.
func (s *seasonal) bloom(stop calendar.Day) calendar.Day {
	at := stop
	if s.rules != 0 && at > s.rules {
		at = s.rules
	}
	return max(s.along(at), stop.Add(s.least))
}

func (s *seasonal) along(stop calendar.Day) calendar.Day {
	first, last := s.pairs[0], s.pairs[len(s.pairs)-1]
	switch {
	case stop <= first.stop:
		return first.bloom.Add(rounded(s.shift * float64(stop.Sub(first.stop))))
	case stop >= last.stop:
		return last.bloom.Add(rounded(s.shift * float64(stop.Sub(last.stop))))
	}
	i, _ := slices.BinarySearchFunc(s.pairs, stop, func(p pair, d calendar.Day) int { return cmp.Compare(p.stop, d) })
	a, b := s.pairs[i-1], s.pairs[i]
	slope := float64(b.bloom.Sub(a.bloom)) / float64(b.stop.Sub(a.stop))
	return a.bloom.Add(rounded(slope * float64(stop.Sub(a.stop))))
}

// stopFor gives the stop whose bloom is nearest to the one aimed at, of several the one nearest to a known stop.
func (s *seasonal) stopFor(aim calendar.Day) calendar.Day {
	best := s.first
	for stop := s.first; stop <= s.last; stop++ {
		off, least := distance(s.bloom(stop), aim), distance(s.bloom(best), aim)
		if off < least || off == least && distance(stop, s.pairs[0].stop) < distance(best, s.pairs[0].stop) {
			best = stop
		}
	}
	return best
}

func rounded(x float64) int { return int(math.Round(x)) }

func distance(a, b calendar.Day) int {
	if a > b {
		return a.Sub(b)
	}
	return b.Sub(a)
}

// seasonOf weighs the evidence for the natural season nearest to a day, strongest first.
func seasonOf(c Case, near calendar.Day) seasonal {
	if c.Place.Known() && alwaysShort(c, c.Place.Lat) {
		return fromStop(c, near)
	}
	s, ok := fromRecords(c, near)
	if !ok {
		s, ok = fromKey(c, near)
	}
	if !ok {
		s = fromVariety(c, near)
	}
	s.complete(c)
	return s
}

// complete sets what follows from the place and the variety whatever the evidence.
func (s *seasonal) complete(c Case) {
	slices.SortFunc(s.pairs, func(a, b pair) int { return cmp.Compare(a.stop, b.stop) })
	s.pairs = slices.CompactFunc(s.pairs, func(a, b pair) bool { return a.stop == b.stop })
	for i := 1; i < len(s.pairs); i++ {
		s.pairs[i].bloom = max(s.pairs[i].bloom, s.pairs[i-1].bloom)
	}
	season, _ := c.Variety.SeasonOrGuess()
	latest := s.pairs[len(s.pairs)-1].stop
	if season != variety.Early {
		if on, ok := shortDaysFrom(c, latest); ok {
			s.rules = max(on, latest)
		}
	}
	s.spread = math.Hypot(s.spread, s.abroad)
	s.least = leastToBloom(c.Variety)
	s.first = s.pairs[0].stop.Add(-reach)
	s.safe = max(latest, LastSafeStop(c, latest))
	s.last = min(latest.Add(reach), s.safe)
}

// leastToBloom is the least time from a stop to the bloom: the response weeks, and the shortest response group known
// where they are not (6 weeks; Larsen & Persson 1999, Scientia Hort. 80:73).
func leastToBloom(v variety.Variety) int {
	weeks := v.Response
	if weeks == 0 {
		weeks = 6
	}
	return rounded(weeks * 7)
}

// StopShift is by how much of a day a natural bloom follows a day of stopping, where no records say otherwise.
func StopShift(c Case) float64 {
	if season, _ := c.Variety.SeasonOrGuess(); season == variety.Early {
		return 1
	}
	if c.Setting.StopShift > 0 {
		return min(c.Setting.StopShift, 1)
	}
	return 0.4 // from memory: a third to a half day a day; no published ratio exists
}

// elsewhere is the further deviation of evidence from another latitude, and what the member is told of it.
func elsewhere(c Case, from, early, other float64) (deviation float64, warning string) {
	if !c.Place.Known() || !far(from, c.Place.Lat) {
		return 0, ""
	}
	deviation = other
	if season, _ := c.Variety.SeasonOrGuess(); season == variety.Early || season == variety.AnySeason {
		deviation = early
	}
	if c.Climate.Mean != nil || c.Climate.Night != nil {
		return deviation / 2, ""
	}
	return deviation, fmt.Sprintf("The evidence is from %s and this place lies at %s: day length alone cannot tell a cool place from one with hot "+
		"nights, where one clone bloomed five weeks later (US Plant Patent 8,756). Give temperatures, or record a bloom, for a narrower window.", degrees(from), degrees(c.Place.Lat))
}
