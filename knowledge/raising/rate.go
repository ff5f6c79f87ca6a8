// Package raising reckons how many stools, cuttings and plants give so many stems, and what is needed to raise them.
// It knows no storage and no dates.
//
// The model: of the stools boxed each lives through winter with one chance; a living one gives a number of shoots that
// is Poisson about its own vigour, the vigours being gamma (so shoots a stool are negative binomial); every shoot struck
// becomes a marketable plant with the product of the shares of rooting, growing and selling, each on its own. Thinning
// keeps both laws, so the chance that a chain of n stools meets a need is a sum over the stools that live, reckoned
// exactly. The shares themselves are taken as known: what a rate rests on is told, not reckoned in.
package raising

import (
	"fmt"
	"math"

	"shortday/knowledge/fault"
)

// EarlierPlants is how many plants a default rate is worth when a grower's own counts are weighed against it.
const EarlierPlants = 20

// EarlierStools is how many stools the default number of shoots is worth.
const EarlierStools = 5

// Rate is the share of plants that come through one step.
type Rate struct {
	Share  float64 // above 0, to 1
	Counts int     // own plants counted that it rests on; 0 for a default
	Source string  // of the share that it began from
}

// Shoots is how many usable shoots a living stool gives.
type Shoots struct {
	Mean   float64
	Spread float64 // how far the vigour of stools differs, as a share of the mean; the count spreads by chance besides
	Counts int     // own stools counted that the mean rests on
	Source string
}

// Rates are those of the whole chain. Zero ones take their default.
type Rates struct {
	Winter Rate   // stools boxed that live to be woken
	Shoots Shoots // usable shoots a living stool
	Strike Rate   // cuttings that root
	Grow   Rate   // rooted cuttings that are fit to plant out or to go into the final pot
	Market Rate   // plants that bear marketable stems
}

// OrDefault fills the rates that were not given.
func (r Rates) OrDefault() Rates {
	r.Winter = r.Winter.or(0.85)
	r.Strike = r.Strike.or(0.90)
	r.Grow = r.Grow.or(0.95)
	r.Market = r.Market.or(0.95)
	if r.Shoots.Mean == 0 {
		r.Shoots = Shoots{Mean: 10, Spread: r.Shoots.Spread, Source: "common practice"}
	}
	if r.Shoots.Spread == 0 {
		r.Shoots.Spread = 0.3 // from memory
	}
	return r
}

func (r Rate) or(share float64) Rate {
	if r.Share != 0 {
		return r
	}
	return Rate{Share: share, Source: "from memory"}
}

// Learn weighs came out of tried own plants against a rate that counts as EarlierPlants plants and those it has
// learnt already: the mean of a beta law, so 5 of 5 do not make 100 %. came is held to 0–tried.
func Learn(from Rate, tried, came int) Rate {
	tried = max(tried, 0)
	came = min(max(came, 0), tried)
	worth := float64(EarlierPlants + from.Counts)
	from.Share = (from.Share*worth + float64(came)) / (worth + float64(tried))
	from.Counts += tried
	return from
}

// LearnShoots weighs the shoots that so many own stools gave against a mean that counts as EarlierStools stools and
// those it has learnt already. The spread stays.
func LearnShoots(from Shoots, stools, shoots int) Shoots {
	stools, shoots = max(stools, 0), max(shoots, 0)
	worth := float64(EarlierStools + from.Counts)
	from.Mean = (from.Mean*worth + float64(shoots)) / (worth + float64(stools))
	from.Counts += stools
	return from
}

// Basis says what the rate rests on: "90 %, from memory" or "94 %, from 15 counted and a default from memory worth 20".
func (r Rate) Basis() string {
	return basis(fmt.Sprintf("%.0f %%", 100*r.Share), r.Counts, EarlierPlants, r.Source)
}

// Basis says what the number of shoots rests on, as Rate.Basis does.
func (s Shoots) Basis() string {
	return basis(fmt.Sprintf("%.3g a stool", s.Mean), s.Counts, EarlierStools, s.Source)
}

func basis(value string, counts, worth int, source string) string {
	if counts == 0 {
		return value + ", " + source
	}
	return fmt.Sprintf("%s, from %d counted and a default (%s) worth %d", value, counts, source, worth)
}

func (r Rates) check() error {
	for _, rate := range []struct {
		what  string
		share float64
	}{{"winter survival", r.Winter.Share}, {"strike rate", r.Strike.Share}, {"growing share", r.Grow.Share}, {"marketable share", r.Market.Share}} {
		if !(rate.share >= 0.01 && rate.share <= 1) {
			return fault.New(fault.Unclear, "A %s of %g %% does not serve; give 1 to 100 %%.", rate.what, round(100*rate.share))
		}
	}
	if s := r.Shoots; !(s.Mean >= 0.1 && s.Mean <= 200 && s.Spread >= 0.01 && s.Spread <= 2) {
		return fault.New(fault.Unclear, "%g shoots a stool, differing by a share of %g, do not serve; give 0.1 to 200 shoots and a share of 0.01 to 2.", s.Mean, s.Spread)
	}
	return nil
}

func round(x float64) float64 { return math.Round(x*1e6) / 1e6 }
