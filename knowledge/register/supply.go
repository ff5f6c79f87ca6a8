package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/supply"
	"shortday/knowledge/variety"
)

// Harvest is what the members' targets and pickings bring in a time.
type Harvest struct {
	Plantings []supply.Planting // a target is one, each picking of it one, what is left of it one
	Uncounted int               // running targets without a number of stems, or of which no bloom can be said
	Refused   int               // running targets that cannot be met, or no longer
	Short     int               // stems wanted that the plants there are cannot bear
	Taken     map[Grown]bool    // members' plants of a variety that targets need, every one
	Silent    int               // those of Plantings whose window is over and of which nothing was recorded: they count as likely
}

// pickingDays is for how long after the last picking more of a planting is still expected, in days: our own reckoning.
const pickingDays = 14

// aside is how far a bloom may come from the days wanted and still be looked for, in days.
const aside = 60

const (
	selectAims = selectPlans + `
WHERE p.coop = $1 AND p.bloom_from >= $2 AND p.bloom_from <= $3 AND p.bloom_from <> '' AND p.ending IN ('', 'boxed') AND ($4 = 0 OR p.member = $4)
ORDER BY p.id`
	selectPickings = `
SELECT e.id, e.variety, e.plan, b.picked, b.stems FROM bloom b JOIN event e ON e.id = b.event
WHERE e.coop = $1 AND e.deed = 'bloom' AND e.undone_at = 0 AND e.day >= $2 AND e.day <= $3 AND b.picked <> '' AND b.stems > 0 AND ($4 = 0 OR e.member = $4)
ORDER BY e.id`
)

// picking is stems picked on a day, of a plan or of none.
type picking struct {
	event, variety, plan int64
	on                   calendar.Day
	stems                int
}

// Harvest gives what blooms or bloomed between two days, of a member or, where that is 0, of the whole co-op. What was
// picked counts as it was, what is left of a planting that is being picked counts for the running week, and a fortnight
// after its last picking no more.
func (r *Register) Harvest(ctx context.Context, coop, member int64, from, to, today calendar.Day) (h Harvest, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		seasons, err := seasonsOf(ctx, tx, coop)
		if err != nil {
			return err
		}
		aims, err := list(ctx, tx, scanPlan, selectAims, coop, day(from.Add(-aside)), day(to.Add(aside)), member)
		if err != nil {
			return err
		}
		picks, err := list(ctx, tx, func(row scanner) (p picking, err error) {
			err = row.Scan(&p.event, &p.variety, (*ref)(&p.plan), (*day)(&p.on), &p.stems)
			return p, err
		}, selectPickings, coop, day(from.Add(-aside)), day(to.Add(aside)), member)
		if err != nil {
			return err
		}
		picked, last := map[int64]int{}, map[int64]calendar.Day{}
		for _, p := range picks {
			picked[p.plan] += p.stems
			last[p.plan] = max(last[p.plan], p.on)
			h.Plantings = append(h.Plantings, supply.Planting{ID: -p.event, Variety: p.variety, Season: seasons[p.variety], Stems: p.stems, Window: calendar.On(p.on)})
		}
		bearing, taken, err := bearings(ctx, tx, coop, member, today)
		if err != nil {
			return err
		}
		h.Taken = taken
		for _, p := range aims {
			h.aim(p, bearing[p.ID], seasons[p.Variety], picked[p.ID], last[p.ID], today)
		}
		return nil
	})
	return h, err
}

// aim adds what a target still brings.
func (h *Harvest) aim(p Plan, b Bearing, season variety.Season, picked int, last, today calendar.Day) {
	stems := p.Stems
	if b.Known {
		stems = b.Stems
	}
	left := stems - picked
	planting := supply.Planting{ID: p.ID, Variety: p.Variety, Season: season, Stems: left, Window: p.Bloom}
	switch {
	case p.Ending != Running:
		return
	case b.Lost:
		h.Refused++
		return
	case p.Stems == 0 && last.IsZero(), p.Bloom.IsZero():
		h.Uncounted++
		return
	}
	if last.IsZero() {
		h.Short += p.Stems - stems
	}
	switch {
	case left <= 0 || !last.IsZero() && last < today.Add(-pickingDays):
		return
	case !last.IsZero():
		planting.Window = calendar.On(today)
	case !p.Bloomed.IsZero():
		planting.Window = calendar.On(p.Bloomed)
	case p.Bloom.Latest < today:
		planting.Window = calendar.On(p.Bloom.Likely)
		h.Silent++
	}
	h.Plantings = append(h.Plantings, planting)
}

func seasonsOf(ctx context.Context, tx *sql.Tx, coop int64) (map[int64]variety.Season, error) {
	all, err := list(ctx, tx, scanVariety, selectVarieties, coop)
	seasons := map[int64]variety.Season{}
	for _, v := range all {
		seasons[v.ID], _ = v.SeasonOrGuess()
	}
	return seasons, err
}

const (
	countBlooms = `SELECT count(*) FROM event WHERE coop = $1 AND deed = 'bloom' AND day >= $2`
	// One row a planting and year.
	selectLateness = `
SELECT e.member, e.variety, min(b.lat) < 0, COALESCE(min(NULLIF(b.opened, '')), ''), COALESCE(min(NULLIF(b.full, '')), ''), COALESCE(min(NULLIF(b.picked, '')), ''),
       COALESCE(max(` + stoppedOn + `), '')
FROM event e JOIN bloom b ON b.event = e.id
WHERE e.coop = $1 AND e.deed = 'bloom' AND e.day >= $2 AND e.member % $3 = 0 AND e.undone_at = 0 AND b.way NOT IN ('black-out', 'lights')
GROUP BY e.member, e.variety, COALESCE(e.plan, 0), substr(e.day, 1, 4)
ORDER BY min(e.id)`
	// mostBlooms and yearsBack bound what a split is learnt from, so that an answer never takes long.
	mostBlooms = 2000
	yearsBack  = 10
)

// PastBlooms gives the co-op's natural blooms of the last ten years, for supply.Learn; where those are more than two
// thousand, those of every second, third, … member. Where all of a member's blooms of a variety have their stop on
// record, the days are those that one stop would have led to.
func (r *Register) PastBlooms(ctx context.Context, coop int64, today calendar.Day) (blooms []supply.Bloom, err error) {
	type row struct {
		bloom supply.Bloom
		stop  float64 // day counted as the bloom's; 0 where it is not on record
	}
	err = r.read(ctx, func(tx *sql.Tx) error {
		set, err := settings(ctx, tx, coop)
		if err != nil {
			return err
		}
		seasons, err := seasonsOf(ctx, tx, coop)
		if err != nil {
			return err
		}
		since := day(today.Add(-365 * yearsBack))
		seen, err := scanID(tx.QueryRowContext(ctx, countBlooms, coop, since))
		if err != nil {
			return err
		}
		rows, err := list(ctx, tx, func(s scanner) (r row, err error) {
			var south bool
			var first, full, picked, stopped calendar.Day
			err = s.Scan(&r.bloom.Member, &r.bloom.Variety, &south, (*day)(&first), (*day)(&full), (*day)(&picked), (*day)(&stopped))
			on := fullBloom(first, full, picked)
			begins := on
			if !south {
				begins = on.Add(-100) // a bloom of early January is of the autumn before
			}
			r.bloom.Year = begins.Year()
			january := calendar.DayOf(r.bloom.Year, 1, 1)
			r.bloom.Day = float64(on.Sub(january))
			if !stopped.IsZero() {
				r.stop = float64(stopped.Sub(january.Add(-365))) // a southern stop may fall in the year before
			}
			return r, err
		}, selectLateness, coop, since, 1+seen/mostBlooms)
		if err != nil {
			return err
		}
		unknown := map[[2]int64]bool{}
		for _, r := range rows {
			if r.stop == 0 {
				unknown[[2]int64{r.bloom.Member, r.bloom.Variety}] = true
			}
		}
		for _, r := range rows {
			if !unknown[[2]int64{r.bloom.Member, r.bloom.Variety}] {
				r.bloom.Day -= shiftFor(seasons[r.bloom.Variety], set[StopShift]) * r.stop
			}
			blooms = append(blooms, r.bloom)
		}
		return nil
	})
	return blooms, err
}

// shiftFor is by how much of a day a natural bloom follows a day of stopping, as crop takes it.
func shiftFor(season variety.Season, set float64) float64 {
	return crop.StopShift(crop.Case{Variety: variety.Variety{Season: season}, Setting: crop.Setting{StopShift: set}})
}
