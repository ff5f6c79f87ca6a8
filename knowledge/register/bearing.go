package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
)

// Bearing is what a running target can bring at most, by the plants that the register knows.
type Bearing struct {
	Lost  bool // it can no longer be reached, and no plants of it are on their way to bloom on another day
	Known bool // its plants are raised, or gone; else the stems wanted are all that is known
	Gone  bool // its member has no plants of the variety left
	Stems int  // where Known: what the plants bear, as far as wanted and not needed by targets that bloom earlier
}

// coopTargets are the running targets of a co-op as the beginning of a query, as runningTargets are those of a member.
const coopTargets = `
WITH q (id, member, variety, since) AS (SELECT id, member, variety, since FROM plan WHERE coop = $1 AND ended = '' AND bloom_from <> '' AND bloom_from >= $2)`

const (
	// Plants are raised once no potting is open. What is stopped, or has its short days or lights, comes to bloom, if on
	// another day than wanted.
	bearers = `
SELECT q.id, q.member, q.variety, p.stems, p.refusal <> '' OR p.missed <> '',
       EXISTS (SELECT 1 FROM job j WHERE j.plan = q.id AND j.state = 'open' AND j.last_safe <> '' AND j.last_safe < $3),
       EXISTS (SELECT 1 FROM job j WHERE j.plan = q.id AND j.state = 'done' AND j.kind IN ('stop', 'black-out', 'light')),
       EXISTS (SELECT 1 FROM job j WHERE j.plan = q.id AND j.state = 'open' AND j.kind = 'pot'),
       EXISTS (SELECT 1 FROM job j WHERE j.plan = q.id AND j.state = 'done' AND j.kind IN ('cut', 'strike', 'pot'))
FROM q CROSS JOIN plan p ON p.id = q.id ORDER BY p.bloom_from, p.id`
	bearersLive = `
SELECT b.member, b.variety, COALESCE(b.plan, 0), b.stage IN ('boxed', 'woken'), sum(b.count)
FROM (SELECT DISTINCT member, variety FROM q) o CROSS JOIN batch b
WHERE b.member = o.member AND b.variety = o.variety AND b.ended = ''
GROUP BY b.member, b.variety, COALESCE(b.plan, 0), b.stage IN ('boxed', 'woken')`
	// What ended in the plan's year, and whether plants raised for it were among that.
	bearersEnded = `
SELECT q.id, max(b.stage NOT IN ('boxed', 'woken') AND b.since >= q.since AND (b.plan IS NULL OR b.plan = q.id))
FROM q CROSS JOIN batch b
WHERE b.member = q.member AND b.variety = q.variety AND b.ended <> '' AND b.ended >= q.since
  AND NOT EXISTS (SELECT 1 FROM batch l WHERE l.member = q.member AND l.variety = q.variety AND l.ended = '' AND l.stage NOT IN ('boxed', 'woken')
                    AND (l.plan IS NULL OR l.plan = q.id))
GROUP BY q.id`
)

// bearer is a running target with what is known of its plants.
type bearer struct {
	Bearing
	Grown
	id             int64
	wanted         int  // stems
	late, begun    bool // a last safe day is past; it is on its way to bloom
	potting        bool // its plants are still to be potted
	raises         bool // cuttings were taken, counted or not
	ended, endedUp bool // batches of the variety ended, of plants raised for it
	own            int  // plants meant for it alone
}

// garden is what a member has of a variety.
type garden struct{ stools, plants, shared int }

// Bearings gives what each running target of a co-op, or of one member where that is not 0, can bring.
func (r *Register) Bearings(ctx context.Context, coop, member int64, today calendar.Day) (all map[int64]Bearing, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, _, err = bearings(ctx, tx, coop, member, today); return err })
	return all, err
}

// bearings gives, besides, of what every plant there is serves a target.
func bearings(ctx context.Context, tx *sql.Tx, coop, member int64, today calendar.Day) (all map[int64]Bearing, taken map[Grown]bool, err error) {
	with, whose := coopTargets, coop
	if member != 0 {
		with, whose = runningTargets, member
	}
	targets, err := list(ctx, tx, func(row scanner) (b *bearer, err error) {
		b = &bearer{}
		return b, row.Scan(&b.id, &b.Member, &b.Variety, &b.wanted, &b.Lost, &b.late, &b.begun, &b.potting, &b.raises)
	}, with+bearers, whose, day(0), day(today))
	if err != nil {
		return nil, nil, err
	}
	if err := loseLate(ctx, tx, targets, today); err != nil {
		return nil, nil, err
	}
	byID := make(map[int64]*bearer, len(targets))
	for _, b := range targets {
		b.Lost = b.Lost && !b.begun
		byID[b.id] = b
	}
	gardens := map[Grown]*garden{}
	err = each(ctx, tx, func(row scanner) error {
		var of Grown
		var plan int64
		var stools bool
		var n int
		err := row.Scan(&of.Member, &of.Variety, &plan, &stools, &n)
		if gardens[of] == nil {
			gardens[of] = &garden{}
		}
		g := gardens[of]
		switch b := byID[plan]; {
		case stools:
			g.stools += n
		case b != nil && !b.Lost:
			b.own += n
			g.plants += n
		default:
			g.shared += n
			g.plants += n
		}
		return err
	}, with+bearersLive, whose, day(0))
	if err != nil {
		return nil, nil, err
	}
	err = each(ctx, tx, func(row scanner) error {
		var id int64
		var up bool
		err := row.Scan(&id, &up)
		if b := byID[id]; b != nil {
			b.ended, b.endedUp = true, up
		}
		return err
	}, with+bearersEnded, whose, day(0))
	if err != nil {
		return nil, nil, err
	}
	kinds, err := list(ctx, tx, scanVariety, with+caseVarieties, whose, day(0))
	if err != nil {
		return nil, nil, err
	}
	kept := map[int64]int{}
	for _, v := range kinds {
		kept[v.ID], _ = v.StemsKept()
	}
	all, taken = share(targets, gardens, kept)
	return all, taken, nil
}

// loseLate asks crop of the targets of which a last safe day is past whether they can still be reached.
func loseLate(ctx context.Context, tx *sql.Tx, targets []*bearer, today calendar.Day) error {
	late := map[int64]*bearer{}
	asked := map[int64]bool{}
	for _, b := range targets {
		if b.late && !b.Lost && !b.begun {
			late[b.id] = b
		}
	}
	seen := seasons{}
	for _, b := range targets {
		if late[b.id] == nil || asked[b.Member] {
			continue
		}
		asked[b.Member] = true
		plans, err := list(ctx, tx, scanPlan, selectRunningTargets, b.Member, day(0))
		if err != nil {
			return err
		}
		cases, err := casesOf(ctx, tx, plans, seen, runningTargets, b.Member, day(0))
		if err != nil {
			return err
		}
		for i, p := range plans {
			if b := late[p.ID]; b != nil {
				b.Lost = crop.Backwards(cases[i], today).Missed != ""
			}
		}
	}
	return nil
}

// share gives each target the stems of its own plants, and then, the earlier bloom first, of those that are meant for
// none or that another target leaves; taken are gardens that have nothing over, and no stools to raise more from.
func share(targets []*bearer, gardens map[Grown]*garden, kept map[int64]int) (all map[int64]Bearing, taken map[Grown]bool) {
	pool := map[Grown]int{}
	for of, g := range gardens {
		pool[of] = g.shared * kept[of.Variety]
	}
	for _, b := range targets { // by bloom
		g := gardens[b.Grown]
		if g == nil {
			g = &garden{}
		}
		b.settle(*g)
		if b.Known && b.wanted > 0 {
			own := b.own * kept[b.Variety]
			b.Stems = min(b.wanted, own)
			pool[b.Grown] += own - b.Stems
		}
	}
	all, taken = make(map[int64]Bearing, len(targets)), map[Grown]bool{}
	for _, b := range targets {
		if b.Known {
			more := min(b.wanted-b.Stems, pool[b.Grown])
			b.Stems += more
			pool[b.Grown] -= more
		}
		all[b.id] = b.Bearing
	}
	for of, g := range gardens {
		taken[of] = g.stools == 0 && pool[of] == 0
	}
	return all, taken
}

// settle tells whether the plants are known, by what the member has of the variety.
func (b *bearer) settle(g garden) {
	switch {
	case b.Lost:
	case !b.potting && b.own+g.shared > 0:
		b.Known = true
	case b.potting && g.stools+b.own+g.shared > 0: // still to be raised
	case (b.raises || !b.potting) && !b.endedUp: // plants that nobody counted
	case g.plants > 0: // those of other targets
		b.Known = true
	default:
		b.Known = b.ended
		b.Gone = b.ended && g.stools == 0
	}
}
