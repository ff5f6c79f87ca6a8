package raising

import "shortday/knowledge/fault"

// The bounds of what is reckoned; beyond them a need is refused.
const (
	MostStems    = 1_000_000
	MostCuttings = 10_000_000
	MostStools   = 1_000_000
)

// Need is what is wanted and under which rates. Stems is not used by Give, GiveCuttings and StoolsFor.
type Need struct {
	Stems         int     // marketable stems
	StemsPerPlant int     // that a marketable plant bears; 1 if zero
	Certainty     float64 // chance that the need is met, 0.5–0.999; 0.95 if zero
	Rates         Rates
}

// Numbers are those of one chain. From Raise each is the least that has to be in hand at its step, from Give the most
// that can be counted on; each for itself holds with the certainty to the chain's end, provided all that come of it
// are carried on (every shoot struck, every rooted cutting potted).
type Numbers struct {
	Stems     int
	Good      int // marketable plants
	Plants    int // planted out or in the final pot
	Rooted    int // rooted cuttings
	Cuttings  int // cuttings struck
	Stools    int // boxed stools to wake, the dead among them counted; 0 from GiveCuttings
	Certainty float64
}

// Raise reckons backwards: the least plants, rooted cuttings, cuttings and stools that meet the stems wanted.
func Raise(n Need) (Numbers, error) {
	n = n.orDefault()
	if err := n.check(); err != nil {
		return Numbers{}, err
	}
	if n.Stems < 1 || n.Stems > MostStems {
		return Numbers{}, fault.New(fault.Unclear, "%d stems cannot be reckoned; give 1 to %d.", n.Stems, MostStems)
	}
	good := (n.Stems-1)/n.StemsPerPlant + 1
	grown, rooted, struck := n.Rates.shares()
	out := Numbers{Stems: n.Stems, Good: good, Certainty: n.Certainty}
	for _, step := range []struct {
		to    *int
		share float64
	}{{&out.Plants, grown}, {&out.Rooted, rooted}, {&out.Cuttings, struck}} {
		count, err := leastOf(good, step.share, n.Certainty)
		if err != nil {
			return Numbers{}, err
		}
		*step.to = count
	}
	var err error
	out.Stools, err = n.leastStools(good, struck)
	return out, err
}

// StoolsFor gives the least boxed stools to wake for so many cuttings.
func StoolsFor(cuttings int, n Need) (int, error) {
	n = n.orDefault()
	if err := n.check(); err != nil {
		return 0, err
	}
	if cuttings < 1 || cuttings > MostCuttings {
		return 0, fault.New(fault.Unclear, "%d cuttings cannot be reckoned; give 1 to %d.", cuttings, MostCuttings)
	}
	return n.leastStools(cuttings, 1)
}

// Give reckons forwards: what so many boxed stools can be counted on for at each step.
func Give(stools int, n Need) (Numbers, error) {
	n = n.orDefault()
	if err := n.check(); err != nil {
		return Numbers{}, err
	}
	if stools < 0 || stools > MostStools {
		return Numbers{}, fault.New(fault.Unclear, "%d stools cannot be reckoned; give up to %d.", stools, MostStools)
	}
	shoots := float64(stools) * n.Rates.Winter.Share * n.Rates.Shoots.Mean
	if shoots > MostCuttings {
		return Numbers{}, fault.New(fault.Unclear, "%d stools would give more than %d cuttings; give fewer stools.", stools, MostCuttings)
	}
	out := n.giving(shoots, func(share float64, k int) bool { return n.stools(share).chance(stools, k) >= n.Certainty })
	out.Stools = stools
	return out, nil
}

// GiveCuttings reckons forwards from cuttings in hand.
func GiveCuttings(cuttings int, n Need) (Numbers, error) {
	n = n.orDefault()
	if err := n.check(); err != nil {
		return Numbers{}, err
	}
	if cuttings < 0 || cuttings > MostCuttings {
		return Numbers{}, fault.New(fault.Unclear, "%d cuttings cannot be reckoned; give up to %d.", cuttings, MostCuttings)
	}
	return n.giving(float64(cuttings), func(share float64, k int) bool { return atLeast(k, cuttings, share) >= n.Certainty }), nil
}

// giving finds the most of each step that enough allows, enough being told the share of shoots that reach the step;
// shoots are those to be expected, from which the search sets out.
func (n Need) giving(shoots float64, enough func(share float64, k int) bool) Numbers {
	most := func(share float64) int {
		first, _ := least(1, int(shoots*share), maxCount, func(k int) bool { return !enough(share, k) })
		return first - 1
	}
	r := n.Rates
	out := Numbers{Cuttings: most(1), Certainty: n.Certainty}
	out.Rooted = most(r.Strike.Share)
	out.Plants = most(r.Strike.Share * r.Grow.Share)
	out.Good = most(r.Strike.Share * r.Grow.Share * r.Market.Share)
	out.Stems = out.Good * n.StemsPerPlant
	return out
}

func (n Need) orDefault() Need {
	if n.StemsPerPlant == 0 {
		n.StemsPerPlant = 1
	}
	if n.Certainty == 0 {
		n.Certainty = 0.95
	}
	n.Rates = n.Rates.OrDefault()
	return n
}

func (n Need) check() error {
	if !(n.Certainty >= 0.5 && n.Certainty <= 0.999) {
		return fault.New(fault.Unclear, "A certainty of %g %% cannot be reckoned; give 50 to 99.9 %%.", round(100*n.Certainty))
	}
	if n.StemsPerPlant < 1 || n.StemsPerPlant > 100 {
		return fault.New(fault.Unclear, "A plant does not bear %d stems; give 1 to 100.", n.StemsPerPlant)
	}
	return n.Rates.check()
}

// shares gives the share of plants, of rooted cuttings and of cuttings that become marketable plants.
func (r Rates) shares() (plants, rooted, cuttings float64) {
	plants = r.Market.Share
	rooted = plants * r.Grow.Share
	return plants, rooted, rooted * r.Strike.Share
}
