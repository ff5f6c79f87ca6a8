package requests

import (
	"context"
	"fmt"
	"strings"

	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
	"shortday/knowledge/supply"
	"shortday/knowledge/variety"
)

// prospect is what the co-op can expect over some weeks, against what it promised.
type prospect struct {
	supply.Outlook
	harvest   register.Harvest
	split     supply.Taught
	varieties map[int64]register.Variety
	promises  map[int64]register.Promise
}

// prospect reckons the supply from the Monday of one day to the Sunday of another.
func (c counter) prospect(ctx context.Context, seat register.Seat, from, until, today calendar.Day) (p prospect, err error) {
	from = from.Monday()
	p.varieties, p.promises = map[int64]register.Variety{}, map[int64]register.Promise{}
	all, err := c.reg.Varieties(ctx, seat.Coop.ID)
	if err != nil {
		return p, err
	}
	for _, v := range all {
		p.varieties[v.ID] = v
	}
	if p.split, err = c.split(ctx, seat.Coop.ID, today); err != nil {
		return p, err
	}
	if p.harvest, err = c.reg.Harvest(ctx, seat.Coop.ID, 0, from, until, today); err != nil {
		return p, err
	}
	q := supply.Question{First: from, Weeks: until.Sub(from)/7 + 1, Today: today, Plantings: p.harvest.Plantings, Split: p.split.Split}
	promises, err := c.reg.Promises(ctx, seat.Coop.ID, from, until)
	for _, promise := range promises {
		p.promises[promise.ID] = promise
		q.Promises = append(q.Promises, p.asked(promise))
	}
	c.reg.Rest(ctx)
	p.Outlook = supply.Reckon(q)
	return p, err
}

// split gives how the lateness is shared: as the co-op set it, or by default, with its records weighed against that.
func (c counter) split(ctx context.Context, coop int64, today calendar.Day) (supply.Taught, error) {
	from := supply.DefaultSplit()
	set, err := c.reg.Settings(ctx, coop)
	if err != nil {
		return supply.Taught{}, err
	}
	if share := set[seasonShare]; share > 0 {
		from.Season = share / 100
	}
	if share := set[varietyShare]; share > 0 {
		from.Variety = share / 100
	}
	from.Variety = min(from.Variety, 1-from.Season)
	blooms, err := c.reg.PastBlooms(ctx, coop, today)
	return supply.Learn(blooms, from), err
}

// splitWords says what the bands rest on.
func splitWords(t supply.Taught) string {
	text := fmt.Sprintf("Of how far a bloom is early or late %s is taken to be common to the whole season and %s to a variety", percentage(t.Season), percentage(t.Variety))
	switch {
	case t.Years > 0 && t.Pairs > 0:
		return text + fmt.Sprintf(", with %s of records weighed in, and %s in which members kept the same variety.", plural(t.Years, "year", "years"), plural(t.Pairs, "season", "seasons"))
	case t.Years > 0:
		return text + fmt.Sprintf(", with %s of records weighed in.", plural(t.Years, "year", "years"))
	}
	return text + " (our own reckoning, until blooms of some years are on record; /coop setup changes it)."
}

// asked puts a promise as the reckoning takes it: a variety named is narrowest, then what says most.
func (p prospect) asked(promise register.Promise) supply.Promise {
	asked := supply.Promise{ID: promise.ID, Week: promise.Week, Stems: promise.Stems, Fits: func(v int64) bool { return promised(promise, p.varieties[v]) }}
	switch {
	case promise.Variety != 0:
		asked.Narrow = 4
	default:
		for _, says := range []bool{promise.Colour != "", promise.Season != variety.AnySeason, promise.Form != variety.AnyForm} {
			if says {
				asked.Narrow++
			}
		}
	}
	return asked
}

// promised reports whether a variety is what was promised.
func promised(p register.Promise, v register.Variety) bool {
	season, _ := v.SeasonOrGuess()
	form, _ := v.FormOrGuess()
	return (p.Variety == 0 || p.Variety == v.ID) && (p.Season == variety.AnySeason || p.Season == season) && (p.Form == variety.AnyForm || p.Form == form) &&
		strings.Contains(variety.Fold(v.Colour), variety.Fold(p.Colour))
}

// promiseWords names a promise: "200 stems of Saltmarsh", "50 stems of late white spray".
func promiseWords(p register.Promise) string {
	return plural(p.Stems, "stem", "stems") + " of " + promisedWhat(p)
}

func promisedWhat(p register.Promise) string {
	if p.Variety != 0 {
		return p.Name
	}
	var words []string
	for _, word := range []string{string(p.Season), p.Colour, string(p.Form)} {
		if word != "" {
			words = append(words, word)
		}
	}
	if len(words) == 0 {
		return "any variety"
	}
	return strings.Join(words, " ")
}

// chanceWords says how sure a promise is.
func chanceWords(s supply.Service) string {
	switch {
	case s.Met == 1:
		return "It is met in every season reckoned."
	case s.Short == 0:
		return fmt.Sprintf("The chance that it is met is %s.", chance(s.Met))
	case s.Expected == 0:
		return "Nothing that fits it is expected in that week."
	}
	missing := fmt.Sprintf("%d or more are", s.Short)
	if s.Short == s.Stems {
		missing = "none is there"
	} else {
		missing += " missing"
	}
	return fmt.Sprintf("The chance that it is met is %s: %.0f of its %d stems come on average, and one season in twenty %s.", chance(s.Met), s.Expected, s.Stems, missing)
}

// chance writes a chance in whole per cent, and never a full one for what may fail.
func chance(p float64) string {
	switch {
	case p > 0 && p < 0.01:
		return "less than 1 %"
	case p < 1 && p > 0.99:
		return "99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}
