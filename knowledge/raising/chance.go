package raising

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"shortday/knowledge/fault"
)

// maxCount is above any count of plants that MostStools stools can give.
const maxCount = 1 << 30

// atLeast is the chance that k or more of n plants come through with a share each.
func atLeast(k, n int, share float64) float64 {
	if k > n {
		return 0
	}
	return distuv.Binomial{N: float64(n), P: share}.Survival(float64(k - 1))
}

// leastOf finds the least plants of which k come through with the certainty.
func leastOf(k int, share, certainty float64) (int, error) {
	guess := int(float64(k) / share)
	n, ok := least(k, guess, MostCuttings, func(n int) bool { return atLeast(k, n, share) >= certainty })
	if !ok {
		return 0, fault.New(fault.Unclear, "More than %d plants would be needed; want fewer stems, or look at the rates.", MostCuttings)
	}
	return n, nil
}

// chain is a stool followed to a step that a share of its shoots reaches.
type chain struct {
	winter float64 // share of stools that live
	mean   float64 // plants a living stool brings to the step
	size   float64 // of the negative binomial law of those
}

func (n Need) stools(share float64) chain {
	s := n.Rates.Shoots
	return chain{winter: n.Rates.Winter.Share, mean: s.Mean * share, size: 1 / (s.Spread * s.Spread)}
}

func (n Need) leastStools(k int, share float64) (int, error) {
	c := n.stools(share)
	guess := min(float64(k)/(c.winter*c.mean), MostStools)
	stools, ok := least(1, int(guess), MostStools, func(stools int) bool { return c.chance(stools, k) >= n.Certainty })
	if !ok {
		return 0, fault.New(fault.Unclear, "More than %d stools would be needed; want fewer, or look at the rates.", MostStools)
	}
	return stools, nil
}

// chance is that of k or more plants from so many stools: the sum over the stools that live, cut where they are
// further than seven standard deviations from their mean. Where the terms change slowly, every few of them stand for
// their neighbours, which costs bell-shaped terms nothing.
func (c chain) chance(stools, k int) float64 {
	if k < 1 {
		return 1
	}
	if c.winter == 1 {
		return c.living(stools, k)
	}
	living := distuv.Binomial{N: float64(stools), P: c.winter}
	reach := 7*living.StdDev() + 10
	low, high := max(1, int(living.Mean()-reach)), min(stools, int(living.Mean()+reach))
	stride := max(1, int(min(living.StdDev(), c.deviation(living.Mean()))/4))
	sum := 0.0
	for alive := low; alive <= high; alive += stride {
		sum += living.Prob(float64(alive)) * c.living(alive, k)
	}
	return min(sum*float64(stride), 1)
}

// deviation is the standard deviation of the plants from living stools, counted in stools.
func (c chain) deviation(alive float64) float64 {
	return math.Sqrt(alive * (1/c.mean + 1/c.size))
}

// living is the chance of k or more plants from stools that live: the survival of a negative binomial law, whose
// closed form is the regularised incomplete beta function (Abramowitz & Stegun 26.5.26). That loses its digits among
// millions of plants, where the law is so nearly normal that the normal one mended for skewness (26.2.48) takes over.
func (c chain) living(alive, k int) float64 {
	if alive == 0 {
		return 0
	}
	size, mean := float64(alive)*c.size, float64(alive)*c.mean
	through := c.mean / (c.mean + c.size)
	skew := (1 + through) / math.Sqrt(size*through)
	if skew > 0.005 {
		return mathext.RegIncBeta(float64(k), size, through)
	}
	z := (float64(k) - 0.5 - mean) / math.Sqrt(mean+mean*mean/size)
	return distuv.UnitNormal.Survival(z) + distuv.UnitNormal.Prob(z)*(z*z-1)*skew/6
}

// least finds the least number from low to most that is enough, where every greater one is too; it strides off from the
// guess in doubled steps, then halves. ok is false where not even most is.
func least(low, guess, most int, enough func(int) bool) (n int, ok bool) {
	fails, serves := low-1, most+1
	n = min(max(guess, low), most)
	for step := 1; n > fails && n < serves; step *= 2 {
		if enough(n) {
			serves, n = n, max(n-step, fails)
		} else {
			fails, n = n, min(n+step, serves)
		}
	}
	for serves-fails > 1 {
		if mid := fails + (serves-fails)/2; enough(mid) {
			serves = mid
		} else {
			fails = mid
		}
	}
	return serves, serves <= most
}
