package crop

import "shortday/knowledge/calendar"

// Care is one recurring job of plants at a stage.
type Care struct {
	Kind   Kind
	Every  int          // days
	Next   calendar.Day // when it is due next
	Rule   string
	Source string
}

// CareOf gives the recurring jobs of plants that have been at a stage since a day, from when each was last done
// (zero Day: never). Feeding ends once last(BudColour) tells that colour was seen.
func CareOf(stage Stage, since calendar.Day, last func(Kind) calendar.Day) []Care {
	var due []Care
	for _, c := range cares(stage) {
		if c.Kind == Feed && last(BudColour) >= since {
			continue
		}
		c.Next += since
		if on := last(c.Kind); on.Add(c.Every) > c.Next && !on.IsZero() {
			c.Next = on.Add(c.Every)
		}
		due = append(due, c)
	}
	return due
}

// LookOver gives the care of plants that stand apart or are held back from a day until another, both included: looked at
// on the first day if now says so, then weekly and on the last day. The zero Care once they were looked at on the last.
func LookOver(from, until, last calendar.Day, now bool) Care {
	c := Care{Kind: Look, Every: 7, Next: from.Add(7), Rule: "held back or new: looked at weekly until it is over", Source: "our own inference"}
	switch {
	case last >= until:
		return Care{}
	case last >= from:
		c.Next = last.Add(c.Every)
	case now:
		c.Next = from
	}
	c.Next = min(c.Next, until)
	return c
}

// cares is the table of recurring jobs; Next counts days from the begin of the stage.
func cares(stage Stage) []Care {
	twiceWeekly := Care{Kind: Water, Every: 3, Next: 3, Rule: "small pots in spring: about twice a week", Source: evergreen}
	feeding := Care{Kind: Feed, Every: 7, Next: 21, Rule: "from about 3 weeks after potting, weekly; stop when colour shows", Source: evergreen + "; weekly: " + common}
	switch stage {
	case Boxed:
		return []Care{{Kind: CheckStore, Every: 21, Next: 21, Rule: "about every three weeks: rot, slugs, dryness", Source: common}}
	case Woken:
		return []Care{twiceWeekly}
	case Potted:
		return []Care{twiceWeekly, feeding}
	case Planted:
		return []Care{{Kind: Water, Every: 1, Next: 7, Rule: "watered in, then none for about a week; then daily in summer", Source: "houseplantsguru.com, planting material; " + evergreen}, feeding}
	case Housed:
		return []Care{{Kind: Water, Every: 1, Next: 1, Rule: "under cover in flower: mornings only", Source: "NCS (UK) Monthly Guide, part two"}}
	}
	return nil
}
