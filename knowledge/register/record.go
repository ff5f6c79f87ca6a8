package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/variety"
)

// What a member takes along of what was recorded: blooms that stand, by day, and the jobs of all plans but those dropped.
const (
	selectOwnBlooms = `
SELECT b.event, e.variety, e.plan, b.opened, b.full, b.picked, b.stems, e.note, v.name
FROM event e JOIN bloom b ON b.event = e.id JOIN variety v ON v.id = e.variety
WHERE e.member = $1 AND e.deed = 'bloom' AND e.undone_at = 0 ORDER BY e.day, e.id`
	selectOwnDates = selectJobs + `
JOIN plan p ON p.id = j.plan WHERE p.member = $1 AND p.ending NOT IN ('dropped', 'replaced') AND j.state <> 'dropped' ORDER BY v.folded, p.bloom_from, j.plan, j.due, j.kind`
)

// BloomRecord is a bloom that stands, with its variety's name.
type BloomRecord struct {
	BloomRow
	Name string
}

// Blooms gives the blooms and pickings that a member recorded and that stand, by day.
func (r *Register) Blooms(ctx context.Context, member int64) (all []BloomRecord, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, func(row scanner) (b BloomRecord, err error) {
			err = row.Scan(&b.Event, &b.Bloom.Variety, (*ref)(&b.Bloom.Plan), (*day)(&b.Bloom.First), (*day)(&b.Bloom.Full), (*day)(&b.Bloom.Picked),
				&b.Bloom.Stems, &b.Bloom.Note, &b.Name)
			return b, err
		}, selectOwnBlooms, member)
		return err
	})
	return all, err
}

// Dates gives every step of a member's plans, those that ended too, with what became of it; by variety, bloom and day.
func (r *Register) Dates(ctx context.Context, member int64) (all []Job, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanJob, selectOwnDates, member); return err })
	return all, err
}

const (
	selectStopsHeld = `
SELECT s.variety, s.member IS NOT NULL, s.on_day, s.second, s.bloom, s.lat, s.source FROM variety v JOIN stop s ON s.variety = v.id
WHERE v.coop = $1 AND (s.member IS NULL OR s.member = $2) ORDER BY s.on_day, s.id`
	selectResponsesHeld = `SELECT variety, weeks FROM own_response WHERE member = $1`
)

// Keys gives the dated stops of all varieties of a co-op, by variety, and what a member holds of them for themselves.
func (r *Register) Keys(ctx context.Context, coop, member int64) (stops map[int64][]variety.Stop, own map[int64]OwnVariety, err error) {
	stops, own = map[int64][]variety.Stop{}, map[int64]OwnVariety{}
	err = r.read(ctx, func(tx *sql.Tx) error {
		err := each(ctx, tx, func(row scanner) error {
			of, mine, s, err := scanStopOf(row)
			if mine {
				held := own[of]
				held.Stops = append(held.Stops, s)
				own[of] = held
			} else {
				stops[of] = append(stops[of], s)
			}
			return err
		}, selectStopsHeld, coop, member)
		if err != nil {
			return err
		}
		return each(ctx, tx, func(row scanner) error {
			var of int64
			var weeks float64
			err := row.Scan(&of, &weeks)
			held := own[of]
			held.Response = weeks
			own[of] = held
			return err
		}, selectResponsesHeld, member)
	})
	return stops, own, err
}

// each hands on the rows of a query.
func each(ctx context.Context, tx *sql.Tx, do func(scanner) error, query string, args ...any) error {
	_, err := list(ctx, tx, func(row scanner) (struct{}, error) { return struct{}{}, do(row) }, query, args...)
	return err
}
