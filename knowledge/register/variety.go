package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

// Variety is a variety of a co-op.
type Variety struct {
	ID   int64
	Coop int64
	variety.Variety
	AddedBy int64 // 0 once that member has left
	AddedAt time.Time
}

const varietyColumns = `id, coop, name, season, form, section, section_letter, us_class, colour, response, critical_bud, critical_flower,
       natural_on, natural_lat, stops_wanted, kept, shoots, protection, until, licence, added_by, added_at`

func scanVariety(row scanner) (v Variety, err error) {
	err = row.Scan(&v.ID, &v.Coop, &v.Name, &v.Season, &v.Form, &v.Section.Number, &v.Section.Letter, &v.USClass, &v.Colour,
		&v.Response, &v.Critical.Bud, &v.Critical.Flower, (*annual)(&v.Natural.On), &v.Natural.Lat, &v.StopsWanted, &v.Kept,
		&v.Shoots, &v.Protection, (*day)(&v.Until), &v.Licence, (*ref)(&v.AddedBy), (*instant)(&v.AddedAt))
	return v, err
}

func varietyArgs(v variety.Variety) []any {
	return []any{v.Name, variety.Fold(v.Name), v.Season, v.Form, v.Section.Number, v.Section.Letter, v.USClass, v.Colour,
		v.Response, v.Critical.Bud, v.Critical.Flower, annual(v.Natural.On), v.Natural.Lat, v.StopsWanted, v.Kept,
		v.Shoots, v.Protection, day(v.Until), v.Licence}
}

const insertVariety = `
INSERT INTO variety (coop, added_by, added_at, name, folded, season, form, section, section_letter, us_class, colour, response,
       critical_bud, critical_flower, natural_on, natural_lat, stops_wanted, kept, shoots, protection, until, licence)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22)
ON CONFLICT (coop, folded) DO NOTHING
RETURNING id`

// AddVariety makes a variety of the actor's co-op, its Stops being the co-op's. A name that is there already, compared
// without case or accents, is refused as Taken.
func (r *Register) AddVariety(ctx context.Context, actor Actor, v variety.Variety) (added Variety, err error) {
	if v, err = checked(v); err != nil {
		return Variety{}, err
	}
	return added, r.act(ctx, actor, func(a *act) error {
		id, err := scanID(a.QueryRowContext(ctx, insertVariety, append([]any{a.own.Coop, a.own.ID, a.at.Unix()}, varietyArgs(v)...)...))
		if errors.Is(err, sql.ErrNoRows) {
			return fault.New(fault.Taken, "The co-op has a variety %s already. /variety show tells what is known of it.", v.Name)
		}
		if err != nil {
			return fmt.Errorf("adding a variety: %w", err)
		}
		if err := putStops(ctx, a.Tx, id, 0, v.Stops); err != nil {
			return err
		}
		added, err = varietyByID(ctx, a.Tx, id)
		return err
	})
}

func checked(v variety.Variety) (variety.Variety, error) {
	name, err := variety.CleanName(v.Name)
	if err != nil {
		return v, err
	}
	v.Name = name
	return v, v.Check()
}

const updateVariety = `
UPDATE variety SET name = $2, folded = $3, season = $4, form = $5, section = $6, section_letter = $7, us_class = $8, colour = $9,
       response = $10, critical_bud = $11, critical_flower = $12, natural_on = $13, natural_lat = $14, stops_wanted = $15,
       kept = $16, shoots = $17, protection = $18, until = $19, licence = $20
WHERE id = $1`

// ChangeVariety replaces what is known of a variety, its name and the co-op's stops too, and moves the open jobs of all
// who grow it. Only who added it or a steward may.
func (r *Register) ChangeVariety(ctx context.Context, actor Actor, id int64, v variety.Variety) (moved []Move, err error) {
	if v, err = checked(v); err != nil {
		return nil, err
	}
	return moved, r.act(ctx, actor, func(a *act) error {
		old, err := a.variety(ctx, id)
		if err != nil {
			return err
		}
		if old.AddedBy != a.own.ID && !a.by.Steward {
			return fault.New(fault.Barred, "%s is the co-op's, so only who added it or a steward changes it. Your own stops and response you can set with /variety stops.", old.Name)
		}
		other, err := list(ctx, a.Tx, scanVariety, selectVarietyNamed, old.Coop, variety.Fold(v.Name))
		if err != nil {
			return err
		}
		if len(other) > 0 && other[0].ID != id {
			return fault.New(fault.Taken, "The co-op has another variety %s. A steward can join the two.", other[0].Name)
		}
		if err := exec(ctx, a.Tx, updateVariety, append([]any{id}, varietyArgs(v)...)...); err != nil {
			return fmt.Errorf("changing a variety: %w", err)
		}
		if err := putStops(ctx, a.Tx, id, 0, v.Stops); err != nil {
			return err
		}
		moved, err = reckonWhere(ctx, a.Tx, a.today, selectVarietyPlans, id)
		return err
	})
}

const (
	selectVariety      = `SELECT ` + varietyColumns + ` FROM variety WHERE id = $1`
	selectVarieties    = `SELECT ` + varietyColumns + ` FROM variety WHERE coop = $1 ORDER BY folded`
	selectVarietyNamed = `SELECT ` + varietyColumns + ` FROM variety WHERE coop = $1 AND folded = $2`
	selectVarietyNames = `SELECT name FROM variety WHERE coop = $1 ORDER BY folded`
)

func varietyByID(ctx context.Context, tx *sql.Tx, id int64) (Variety, error) {
	v, err := one(fault.New(fault.Missing, "That variety is not in the register. /variety list names the co-op's."),
		tx.QueryRowContext(ctx, selectVariety, id), scanVariety)
	if err != nil {
		return Variety{}, err
	}
	v.Stops, err = list(ctx, tx, scanStop, selectStops, id, ref(0))
	return v, err
}

// variety gives a variety of the member's co-op.
func (a *act) variety(ctx context.Context, id int64) (Variety, error) {
	v, err := varietyByID(ctx, a.Tx, id)
	if err == nil && v.Coop != a.own.Coop {
		err = fault.New(fault.Missing, "The co-op keeps no such variety. /variety list names those it does.")
	}
	return v, err
}

// Variety gives a variety with the co-op's stops.
func (r *Register) Variety(ctx context.Context, id int64) (v Variety, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { v, err = varietyByID(ctx, tx, id); return err })
	return v, err
}

// VarietyFor gives a variety as a member grows it: own stops and response, where there are any, replace the co-op's.
func (r *Register) VarietyFor(ctx context.Context, member, id int64) (v Variety, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { v, err = varietyFor(ctx, tx, member, id); return err })
	return v, err
}

// Varieties gives the co-op's varieties by name, without their stops.
func (r *Register) Varieties(ctx context.Context, coop int64) (all []Variety, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanVariety, selectVarieties, coop); return err })
	return all, err
}

// NearVarieties gives the names of the co-op's varieties that a name may stand for, nearest first: completion while it
// is typed, and a warning before one is added twice.
func (r *Register) NearVarieties(ctx context.Context, coop int64, name string, limit int) (near []string, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		names, err := list(ctx, tx, scanText, selectVarietyNames, coop)
		near = variety.Near(name, names, limit)
		return err
	})
	return near, err
}

// VarietyNamed gives the co-op's variety of that name, compared without case or accents, with the co-op's stops.
func (r *Register) VarietyNamed(ctx context.Context, coop int64, name string) (v Variety, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		found, err := list(ctx, tx, scanVariety, selectVarietyNamed, coop, variety.Fold(name))
		if err != nil {
			return err
		}
		if len(found) == 1 {
			v, err = varietyByID(ctx, tx, found[0].ID)
			return err
		}
		names, err := list(ctx, tx, scanText, selectVarietyNames, coop)
		if err != nil {
			return err
		}
		return fault.New(fault.Missing, "The co-op keeps no variety %q. %s", name, nearest(name, names, "/variety add makes a new one."))
	})
	return v, err
}
