// Package variety holds what is known of a chrysanthemum variety: when it blooms, its form, how it answers to short
// days, and who may propagate it. It knows nothing of who keeps it.
package variety

import "shortday/knowledge/calendar"

// Season is when a variety blooms outdoors or under plain cover, by the trade's three classes.
type Season string

// The season classes, by the bloom in the northern hemisphere (NCS (UK) sections). Half a year later in the southern.
const (
	AnySeason Season = ""      // not known
	Early     Season = "early" // September
	Mid       Season = "mid"   // October
	Late      Season = "late"  // November and after
)

// Variety is one cultivar as the co-op describes it. Zero fields are not known; the methods give the defaults.
type Variety struct {
	Name    string
	Season  Season
	Form    Form
	Section Section // NCS (UK); zero if not known
	USClass int     // 1–13 of the US National Chrysanthemum Society, form only; 0 if not known
	Colour  string  // as printed

	Response float64  // weeks from the start of short days to bloom, in halves, 6–15; 0 if not known
	Critical Critical // day lengths

	Natural Natural // printed or observed natural bloom
	Stops   []Stop  // dated stop key

	StopsWanted int     // 0: default of the form
	Kept        int     // stems kept a plant; 0: default of the form
	Shoots      float64 // usable shoots a woken stool gives; 0: default

	Protection Protection
	Until      calendar.Day // protected until, if known
	Licence    string       // whose licence, or its number
}

// Critical holds the day lengths in hours below which buds are set and below which they go on to flower.
type Critical struct {
	Bud, Flower float64
}

// Natural is the day of natural bloom at a latitude, as printed or observed.
type Natural struct {
	On  calendar.Annual
	Lat float64 // degrees north it was given for
}

// Stop is one dated stop of a key: stopped On, the variety blooms Bloom, at the latitude it was written for.
type Stop struct {
	On     calendar.Annual
	Second calendar.Annual // second stop; none where there is one only
	Bloom  calendar.Annual // none where the key gives the stop alone
	Lat    float64
	Source string // whose key
}

// Protection is what is known of breeders' rights.
type Protection string

// The four states of protection.
const (
	Unknown   Protection = ""
	Free      Protection = "free"
	Protected Protection = "protected"
	Licensed  Protection = "licensed"
)
