package crop

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

// rule is a printed span of days between two steps, in words and with its source.
type rule struct {
	span   calendar.Span
	text   string
	source string
}

const (
	evergreen  = "Evergreen Chrysanthemum Association"
	victoria   = "Chrysanthemum Society of Victoria, Month by Month"
	southport  = "Southport & District Gardening & Chrysanthemum Society, How to Grow"
	peace      = "J. Peace, NCS (UK) Monthly Guide"
	ncsIncurve = "NCS (UK), Exhibition Incurve Blooms"
	rhs        = "RHS plant profile 813"
	rhsGuide   = "RHS growing guide"
	cathey     = "Cathey, N.Y. State Flower Growers Bull. 119 (1955)"
	common     = "common practice"
	reckoned   = "our own reckoning"
)

func chilling() rule {
	return rule{calendar.Span{Min: 30, Likely: 36, Max: 42}, "30–42 days of cold before waking, else the shoots stay rosettes",
		evergreen + ", Nov/Dec notes; J. Japan. Soc. Hort. Sci., low-temperature treatment of rooted cuttings"}
}

func waking(p place.Place) rule {
	if p.BottomHeat {
		return rule{calendar.Span{Min: 12, Likely: 14, Max: 21}, "about 2 weeks from waking to cutting on bottom heat", victoria}
	}
	return rule{calendar.Span{Min: 21, Likely: 26, Max: 31}, "21–31 days from waking to cutting at about 16 °C", evergreen + ", Nov/Dec notes"}
}

// rooting depends on bottom heat and, without it, on the light of the month: shortest days are below 9.5 hours.
func rooting(p place.Place, dark bool) rule {
	switch {
	case p.BottomHeat:
		return rule{calendar.Span{Min: 10, Likely: 13, Max: 16}, "10–16 days to root in a heated propagator",
			"gardenadvice.co.uk, spring chrysanthemum cuttings"}
	case dark:
		return rule{calendar.Span{Min: 21, Likely: 25, Max: 28}, "21–28 days to root in low light", peace}
	}
	return rule{calendar.Span{Min: 18, Likely: 21, Max: 25}, "about 21 days to root without heat in spring", "The Oregonian, April 2009"}
}

func pottingOn() rule {
	return rule{calendar.Span{Min: 28, Likely: 31, Max: 35}, "13 cm pot 4–5 weeks after the 9 cm pot", ncsIncurve}
}

// growing is from striking to a plant of about 20 cm that can be stopped: rooting, 4–5 weeks in a small pot, and four
// to seven weeks more.
func growing() rule {
	return rule{calendar.Span{Min: 70, Likely: 91, Max: 112}, "10–16 weeks from striking to a plant of about 20 cm", reckoned + " from " + rhsGuide + " and " + ncsIncurve}
}

func stopping(season variety.Season) rule {
	switch season {
	case variety.Early:
		return rule{calendar.Weeks(16, 17, 18), "earlies bloom 16–18 weeks after the stop", common}
	case variety.Mid:
		return rule{calendar.Weeks(18, 19.5, 21), "mid-season varieties bloom about 18–21 weeks after the stop", reckoned + ", between earlies and lates"}
	}
	return rule{calendar.Weeks(21, 22, 23), "lates bloom about 22 weeks after the stop", common}
}

func secondStopping() rule {
	return rule{calendar.Span{Min: 28, Likely: 35, Max: 42}, "a second stop 4–6 weeks after the first", common}
}

func pinchToShortDays() rule {
	return rule{calendar.Span{Min: 30, Likely: 32, Max: 33}, "30–33 days from the stop to short days", cathey}
}

func plantToPinch() rule {
	return rule{calendar.Days(15), "15 days from planting to the stop", cathey}
}

// strikeToPlant serves controlled crops, which go from the small pot to the bed.
func strikeToPlant() rule {
	return rule{calendar.Span{Min: 28, Likely: 42, Max: 56}, "4–8 weeks from striking to planting in the bed", reckoned + " from rooting and small-pot times"}
}

func colouring() rule {
	return rule{calendar.Span{Min: 30, Likely: 32, Max: 35}, "bloom is ready 30–35 days after bud colour shows", peace + ", part two"}
}

// budding is from the terminal bud to the bloom: terminal buds 4–6 weeks after crown buds of the second to third week
// of February, bloom in the first week of May.
func budding() rule {
	return rule{calendar.Span{Min: 27, Likely: 45, Max: 60}, "terminal buds stand about 4–8 weeks before the bloom", "The Press, 25 Nov 1929 (43.5° S)"}
}

func clearing() rule {
	return rule{calendar.Span{Min: 7, Likely: 14, Max: 28}, "after bloom and before hard frost: cut to 15 cm", southport}
}
