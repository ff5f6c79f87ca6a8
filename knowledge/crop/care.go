package crop

import (
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/place"
)

// Care is one recurring job of plants at a stage. How often it comes goes by the season of the place.
type Care struct {
	Kind   Kind
	Next   calendar.Day // when it is due next
	Rule   string
	Source string
	at     place.Point
	pace   pace
}

// pace is the days from one time to the next. Where light is asked for there is none in the dark months.
type pace struct {
	summer, mild, winter int
	light                bool
}

func always(days int) pace { return pace{summer: days, mild: days, winter: days} }

// Every gives how many days apart the care comes in the season of a day.
func (c Care) Every(on calendar.Day) int {
	switch c.season(on) {
	case summer:
		return c.pace.summer
	case winter:
		return c.pace.winter
	}
	return c.pace.mild
}

// Falls reports whether the care comes on a day, when nobody gave it since Next.
func (c Care) Falls(on calendar.Day) bool {
	return on >= c.Next && on.Sub(c.Next)%c.Every(on) == 0 && !c.rests(on)
}

// rests reports whether the plants do without on a day, for it is too dark to grow.
func (c Care) rests(on calendar.Day) bool { return c.pace.light && dark(c.at, on) }

// after gives the first day on which the care comes when it was given on one.
func (c Care) after(given calendar.Day) calendar.Day {
	day := given.Add(1)
	for day.Sub(given) < c.Every(day) {
		day++
	}
	return day
}

// lit gives the first day from one on on which the care does not rest.
func (c Care) lit(from calendar.Day) calendar.Day {
	for year := from.Year(); c.rests(from); year++ {
		spring, ok := daylight.Crossing(c.at, darkBelow, daylight.Spring, year, daylight.Sunrise)
		switch {
		case ok && spring > from:
			return spring
		case year > from.Year(): // beside a pole, where the light does not pass the length as elsewhere
			return from.Add(1)
		}
	}
	return from
}

type quarter int

const (
	mild quarter = iota // spring and autumn
	summer
	winter
)

// season gives the quarter of the year at the place: the three months about the warmest time, or the coldest.
func (c Care) season(on calendar.Day) quarter {
	_, month, _ := on.Date()
	if c.at.South() {
		month = (month+5)%12 + 1
	}
	switch month {
	case time.June, time.July, time.August:
		return summer
	case time.December, time.January, time.February:
		return winter
	}
	return mild
}

// CareOf gives the recurring jobs of plants that have been at a stage since a day, from when each was last done
// (zero Day: never), as it stands on a day. Feeding ends once last(BudColour) tells that colour was seen; in the dark
// months it waits for the light.
func CareOf(stage Stage, since calendar.Day, at place.Point, today calendar.Day, last func(Kind) calendar.Day) []Care {
	var due []Care
	for _, t := range tasks(stage) {
		if t.Kind == Feed && last(BudColour) >= since {
			continue
		}
		c := t.Care
		c.at = at
		c.Next = since.Add(t.first)
		if t.first == 0 {
			c.Next = c.after(since)
		}
		if on := last(c.Kind); !on.IsZero() {
			c.Next = max(c.Next, c.after(on))
		}
		if c.Next = c.lit(c.Next); c.rests(max(c.Next, today)) {
			c.Next = c.lit(today)
		}
		due = append(due, c)
	}
	return due
}

// LookOver gives the care of plants that stand apart or are held back from a day until another, both included: looked at
// on the first day if now says so, then weekly and on the last day. The zero Care once they were looked at on the last.
func LookOver(from, until, last calendar.Day, now bool) Care {
	c := Care{Kind: Look, pace: always(7), Next: from.Add(7), Rule: "held back or new: looked at weekly until it is over", Source: "our own inference"}
	switch {
	case last >= until:
		return Care{}
	case last >= from:
		c.Next = c.after(last)
	case now:
		c.Next = from
	}
	c.Next = min(c.Next, until)
	return c
}

// task is a line of the table of recurring jobs.
type task struct {
	Care
	first int // days from the begin of the stage; 0: as many as from one time to the next
}

func tasks(stage Stage) []task {
	watering := pace{summer: 1, mild: 3, winter: 7}
	water := Care{Kind: Water, pace: watering, Rule: "about twice a week in spring and autumn, daily in summer; in winter look weekly and water what is dry", Source: evergreen + "; winter: " + common}
	feeding := Care{Kind: Feed, pace: pace{7, 7, 7, true}, Rule: "from about 3 weeks after potting, weekly; stop when colour shows; none in the dark months", Source: evergreen + "; weekly, and not in the dark: " + common}
	switch stage {
	case Boxed:
		return []task{{Care: Care{Kind: CheckStore, pace: always(21), Rule: "about every three weeks: rot, slugs, dryness", Source: common}}}
	case Woken: // in the warmth and growing, so not left for a week in winter
		water.pace.winter, water.Rule, water.Source = 3, "about twice a week; daily in summer", evergreen
		return []task{{Care: water}}
	case Potted:
		return []task{{Care: water}, {feeding, 21}}
	case Planted:
		water.Rule, water.Source = "watered in, then none for about a week; then "+water.Rule, "houseplantsguru.com, planting material; "+water.Source
		return []task{{water, 7}, {feeding, 21}}
	case Housed: // in flower, so not left for a week in winter
		water.pace.winter, water.Rule, water.Source = 3, "under cover in flower: mornings only; daily in summer, else about twice a week", "NCS (UK) Monthly Guide, part two; "+evergreen+"; autumn and winter: "+common
		return []task{{Care: water}}
	}
	return nil
}
