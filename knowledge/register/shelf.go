package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/calendar"
	"shortday/knowledge/exchange"
)

// Shelf is what is asked of the open offers or wants of a co-op.
type Shelf struct {
	Coop    int64
	Variety int64          // 0: any
	Stock   exchange.Stock // "": any
	Near    calendar.Day   // those ready by then first; zero: by first day
	Today   calendar.Day
	Limit   int
}

// An expression keeps the last day out of the choice of an index: what is asked for is in the order of the first.
const (
	shelfOfVariety = selectOffers + `
WHERE o.coop = $1 AND o.variety = $2 AND o.ended = '' AND o.free > 0 AND o.until || '' >= $3 AND ($4 = '' OR o.stock = $4) AND NOT ` + heldOn + `$3) AND o.ready `
	shelfOfAll = selectOffers + `
WHERE o.coop = $1 AND $2 = 0 AND o.ended = '' AND o.free > 0 AND o.until || '' >= $3 AND ($4 = '' OR o.stock = $4) AND NOT ` + heldOn + `$3) AND o.ready `
	byReady       = `>= $5 ORDER BY o.ready, o.id LIMIT $6`
	backFromReady = `< $5 ORDER BY o.ready DESC, o.id DESC LIMIT $6`
	wantsOf       = selectWants + `
WHERE w.coop = $1 AND w.variety = $2 AND w.ended = '' AND w.free > 0 AND w.last >= $3 AND ($4 = '' OR w.stock = $4) ORDER BY w.last, w.id LIMIT $5`
	wantsOfAny = selectWants + `
WHERE w.coop = $1 AND w.variety IS NULL AND w.ended = '' AND w.free > 0 AND w.last >= $2 AND ($3 = '' OR w.stock = $3) ORDER BY w.last, w.id`
	wantsOfAll = selectWants + `
WHERE w.coop = $1 AND w.ended = '' AND w.free > 0 AND w.last >= $2 AND ($3 = '' OR w.stock = $3) ORDER BY w.last, w.id LIMIT $4`
	ownKinds = `SELECT DISTINCT variety FROM batch WHERE member = $1 AND ended = '' ORDER BY variety`
)

// OnOffer gives open offers that can be handed over, which nothing holds back, those that are ready nearest to a day first where one is asked for, else by first day.
func (r *Register) OnOffer(ctx context.Context, s Shelf) (all []Offer, err error) {
	query := shelfOfAll
	if s.Variety != 0 {
		query = shelfOfVariety
	}
	err = r.read(ctx, func(tx *sql.Tx) error {
		args := []any{s.Coop, s.Variety, day(s.Today), s.Stock, day(s.Near), s.Limit}
		after, err := list(ctx, tx, scanOffer, query+byReady, args...)
		if err != nil || s.Near.IsZero() {
			all = after
			return err
		}
		before, err := list(ctx, tx, scanOffer, query+backFromReady, args...)
		all = nearestFirst(before, after, s.Near, s.Limit)
		return err
	})
	return all, err
}

// nearestFirst merges offers ready before a day, the latest first, with those ready from it on, by how far off they are.
func nearestFirst(before, after []Offer, near calendar.Day, limit int) (all []Offer) {
	for len(all) < limit && len(before)+len(after) > 0 {
		if len(after) == 0 || len(before) > 0 && near.Sub(before[0].From) <= after[0].From.Sub(near) {
			all, before = append(all, before[0]), before[1:]
			continue
		}
		all, after = append(all, after[0]), after[1:]
	}
	return all
}

// Wanted gives open wants by urgency: of a variety with those of any that it would serve, or all.
func (r *Register) Wanted(ctx context.Context, s Shelf) (all []Want, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		if s.Variety == 0 {
			all, err = list(ctx, tx, scanWant, wantsOfAll, s.Coop, day(s.Today), s.Stock, s.Limit)
			return err
		}
		all, err = wantsFor(ctx, tx, s, []int64{s.Variety})
		return err
	})
	return all, err
}

// WantedOfMine gives others' open wants that a member keeps a variety for.
func (r *Register) WantedOfMine(ctx context.Context, member int64, s Shelf) (all []Want, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		kinds, err := list(ctx, tx, scanID, ownKinds, member)
		if err != nil {
			return err
		}
		found, err := wantsFor(ctx, tx, s, kinds)
		for _, w := range found {
			if w.Member != member && len(all) < s.Limit {
				all = append(all, w)
			}
		}
		return err
	})
	return all, err
}

func wantsFor(ctx context.Context, tx *sql.Tx, s Shelf, kinds []int64) (all []Want, err error) {
	any, err := list(ctx, tx, scanWant, wantsOfAny, s.Coop, day(s.Today), s.Stock)
	if err != nil {
		return nil, err
	}
	seen := map[int64]bool{}
	for _, id := range kinds {
		named, err := list(ctx, tx, scanWant, wantsOf, s.Coop, id, day(s.Today), s.Stock, s.Limit)
		if err != nil {
			return nil, err
		}
		v, err := varietyByID(ctx, tx, id)
		if err != nil {
			return nil, err
		}
		all = append(all, named...)
		for _, w := range any {
			if seen[w.ID] {
				continue
			}
			var like Variety
			if w.Like != 0 {
				if like, err = varietyByID(ctx, tx, w.Like); err != nil {
					return nil, err
				}
			}
			if w.Fits(v, like) {
				seen[w.ID] = true
				all = append(all, w)
			}
		}
	}
	return all, nil
}

const (
	firstKeepers = `SELECT DISTINCT member FROM batch WHERE variety = $1 AND ended = '' ORDER BY member LIMIT $2`
	countKeepers = `SELECT count(DISTINCT member) FROM batch WHERE variety = $1 AND ended = ''`
)

// KeepersOf gives the live batches of a variety of the first so many members who keep it, by member, and how many keep
// it in all.
func (r *Register) KeepersOf(ctx context.Context, variety int64, limit int) (batches []Batch, members int, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, countKeepers, variety).Scan(&members); err != nil {
			return err
		}
		keepers, err := list(ctx, tx, scanID, firstKeepers, variety, limit)
		if err != nil {
			return err
		}
		for _, id := range keepers {
			theirs, err := liveBatches(ctx, tx, id, variety)
			if err != nil {
				return err
			}
			batches = append(batches, theirs...)
		}
		return nil
	})
	return batches, members, err
}
