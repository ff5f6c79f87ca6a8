package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/variety"
)

const (
	// A member's stops, or with no member the co-op's.
	selectStops = `SELECT on_day, second, bloom, lat, source FROM stop WHERE variety = $1 AND COALESCE(member, 0) = COALESCE($2, 0) ORDER BY on_day, id`
	deleteStops = `DELETE FROM stop WHERE variety = $1 AND COALESCE(member, 0) = COALESCE($2, 0)`
	insertStop  = `INSERT INTO stop (variety, member, on_day, second, bloom, lat, source) VALUES ($1, $2, $3, $4, $5, $6, $7)`

	selectOwnResponse = `SELECT weeks FROM own_response WHERE variety = $1 AND member = $2`
	deleteOwnResponse = `DELETE FROM own_response WHERE variety = $1 AND member = $2`
	insertOwnResponse = `INSERT INTO own_response (variety, member, weeks) VALUES ($1, $2, $3)`
)

func scanStop(row scanner) (s variety.Stop, err error) {
	err = row.Scan((*annual)(&s.On), (*annual)(&s.Second), (*annual)(&s.Bloom), &s.Lat, &s.Source)
	return s, err
}

func putStops(ctx context.Context, tx *sql.Tx, id, member int64, stops []variety.Stop) error {
	if err := exec(ctx, tx, deleteStops, id, ref(member)); err != nil {
		return fmt.Errorf("clearing stops: %w", err)
	}
	for _, s := range stops {
		if err := exec(ctx, tx, insertStop, id, ref(member), annual(s.On), annual(s.Second), annual(s.Bloom), s.Lat, s.Source); err != nil {
			return fmt.Errorf("keeping a stop: %w", err)
		}
	}
	return nil
}

// SetOwn keeps the actor's own stops and response of a variety, and moves their open jobs. No stops and a response of 0
// return to the co-op's.
func (r *Register) SetOwn(ctx context.Context, actor Actor, id int64, stops []variety.Stop, response float64) (moved []Move, err error) {
	return moved, r.act(ctx, actor, func(a *act) error {
		v, err := a.variety(ctx, id)
		if err != nil {
			return err
		}
		v.Stops, v.Response = stops, response
		if err := v.Check(); err != nil {
			return err
		}
		if err := putStops(ctx, a.Tx, id, a.own.ID, stops); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, deleteOwnResponse, id, a.own.ID); err != nil {
			return err
		}
		if response != 0 {
			if err := exec(ctx, a.Tx, insertOwnResponse, id, a.own.ID, response); err != nil {
				return err
			}
		}
		moved, err = reckonWhere(ctx, a.Tx, a.today, selectMemberVarietyPlans, a.own.ID, id)
		return err
	})
}

func varietyFor(ctx context.Context, tx *sql.Tx, member, id int64) (Variety, error) {
	v, err := varietyByID(ctx, tx, id)
	if err != nil {
		return v, err
	}
	own, err := list(ctx, tx, scanStop, selectStops, id, ref(member))
	if err != nil {
		return v, err
	}
	if len(own) > 0 && member != 0 {
		v.Stops = own
	}
	weeks, err := list(ctx, tx, func(row scanner) (w float64, err error) { err = row.Scan(&w); return w, err }, selectOwnResponse, id, member)
	if len(weeks) == 1 {
		v.Response = weeks[0]
	}
	return v, err
}
