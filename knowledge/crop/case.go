package crop

import (
	"shortday/knowledge/calendar"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

// Case is all that a plan or a forecast rests on. Everything but Variety may be zero.
type Case struct {
	Variety variety.Variety
	Place   place.Place
	Wanted  Target       // zero: the plants are kept, no bloom is aimed at
	Done    []Done       // what was really done for these plants, any order
	Records []Record     // blooms seen in earlier years of this variety
	Bloomed calendar.Day // the bloom that was seen of these plants; zero while none was
	Climate Climate
	Setting Setting

	passed *passages // of the plan under way
}

// Target is a wanted bloom, from the first day on which it serves to the last.
type Target struct {
	From, To calendar.Day
	Way      Way
}

// Way is how a plant is made to bloom.
type Way string

// The ways. AnyWay lets the plan choose: natural where the day lies in the natural season.
const (
	AnyWay  Way = ""
	Natural Way = "natural"
	Shaded  Way = "black-out"
	Lit     Way = "lights"
)

// Done is one step that was done.
type Done struct {
	Kind Kind
	On   calendar.Day
}

// Record is one bloom that was seen: what a later forecast learns from.
type Record struct {
	Own     bool // the asking member's; else another member's of the co-op
	Way     Way
	Stopped calendar.Day // zero if not recorded
	Short   calendar.Day // start of short days, where controlled
	Bloomed calendar.Day // full bloom; first bloom plus the usual opening where only that was seen
	Lat     float64
}

// Climate is what the grower says of temperatures, in °C; nil where nothing is said.
type Climate struct {
	Night *float64 // mean night in the first two weeks of short days or bud setting
	Mean  *float64 // mean of day and night while buds grow
	Light *float64 // daily radiation while buds grow, cal cm⁻² d⁻¹, the unit of the source (1 cal cm⁻² = 41.84 kJ m⁻²)
}

// Plan is what is to be done, step by step, and what bloom it leads to.
type Plan struct {
	Steps    []Step // by likely day
	Bloom    Forecast
	Way      Way
	Refusal  *Refusal // why the target cannot be met; nil where it can
	Missed   string   // why it can no longer be reached from today, and what still can be done; "" while it can
	Warnings []string // one sentence each, for the member
}

// Forecast is when the bloom comes and what that rests on.
type Forecast struct {
	Window calendar.Window // zero where nothing can be said
	Basis  Basis
	Why    string // the evidence in words: "3 blooms of your own", "season class mid"
	// Warnings are what the member should know of it, one sentence each. A Plan carries them itself.
	Warnings []string
}

// Basis ranks evidence, strongest first.
type Basis string

// The kinds of evidence.
const (
	OwnRecords  Basis = "own records"
	CoopRecords Basis = "co-op records"
	StopKey     Basis = "dated stop"
	NaturalDay  Basis = "natural bloom day"
	ShortDays   Basis = "response group" // controlled days: response weeks from the start of short days
	ClassOnly   Basis = "season class"
	Colour      Basis = "colour seen" // bud colour was seen this year: stronger than any rule
	BudTaken    Basis = "bud taken"   // the bud was taken this year
	Handbook    Basis = "handbook"    // a printed rule, named by the step
	Recorded    Basis = "recorded"    // it was done on this day
	Nothing     Basis = "nothing"
)

// Refusal says why a target cannot be met with this variety at this place, and what can.
type Refusal struct {
	Why     string       // one or two sentences
	Nearest calendar.Day // nearest day that does work; zero where none does
	Way     Way          // how the nearest day is reached
}

// Stage is what a batch of plants is at.
type Stage string

// The stages of a batch, in the order of the year.
const (
	Boxed   Stage = "boxed"   // resting stools
	Woken   Stage = "woken"   // stools in growth, giving shoots
	Taken   Stage = "taken"   // cuttings taken, not yet struck
	Struck  Stage = "struck"  // cuttings set to root
	Potted  Stage = "potted"  // rooted, in small pots
	Planted Stage = "planted" // in the bed or the final pot
	Housed  Stage = "housed"  // under cover to bloom
)

// StageAfter gives the stage that a done step leaves plants at; ok is false where the step leaves the stage alone.
func StageAfter(k Kind) (stage Stage, ok bool) {
	switch k {
	case Wake:
		return Woken, true
	case Cut:
		return Taken, true
	case Strike:
		return Struck, true
	case Pot:
		return Potted, true
	case PlantOut, FinalPot:
		return Planted, true
	case House:
		return Housed, true
	case Box:
		return Boxed, true
	}
	return "", false
}

// StepsTo gives the steps by which plants come to a stage; of those to one stage a plan has one.
func StepsTo(s Stage) []Kind {
	switch s {
	case Boxed:
		return []Kind{Box}
	case Woken:
		return []Kind{Wake}
	case Taken:
		return []Kind{Cut}
	case Struck:
		return []Kind{Strike}
	case Potted:
		return []Kind{Pot}
	case Planted:
		return []Kind{PlantOut, FinalPot}
	case Housed:
		return []Kind{House}
	}
	return nil
}

// Setting holds what a co-op or member may change; zero fields take the default.
type Setting struct {
	StopShift float64 // days of bloom a day of stopping in the natural season, 0–1; default 0.4; earlies 1
}
