package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
)

// Batch is a number of plants of one variety, one owner, one stage and one place.
type Batch struct {
	ID      int64
	Coop    int64
	Mark    string // "27-14": year made and running number, unique in the co-op
	Variety int64
	Name    string // of the variety
	Member  int64  // 0: its member left, and only the lineage is kept
	Owner   string // the member's name
	Stage   crop.Stage
	Since   calendar.Day // at this stage
	Count   int          // always the sum of its counts, see Explain
	Spot    string       // bench or box
	Parent  int64        // the batch it was raised, split or received from; 0 where none is known
	From    string       // the mark of Parent
	Plan    int64        // the running target it is meant for, or 0
	Made    calendar.Day
	Ended   calendar.Day // the day on which none was left
}

// Live reports whether the batch has plants.
func (b Batch) Live() bool { return b.Ended.IsZero() }

const selectBatches = `
SELECT b.id, b.coop, b.mark, b.variety, v.name, b.member, COALESCE(m.name, ''), b.stage, b.since, b.count, b.spot, b.parent, COALESCE(f.mark, ''),
       p.id, b.made, b.ended
FROM batch b JOIN variety v ON v.id = b.variety LEFT JOIN member m ON m.id = b.member LEFT JOIN batch f ON f.id = b.parent
     LEFT JOIN plan p ON p.id = b.plan AND p.ended = '' AND p.bloom_from <> ''
`

func scanBatch(row scanner) (b Batch, err error) {
	err = row.Scan(&b.ID, &b.Coop, &b.Mark, &b.Variety, &b.Name, (*ref)(&b.Member), &b.Owner, &b.Stage, (*day)(&b.Since), &b.Count,
		&b.Spot, (*ref)(&b.Parent), &b.From, (*ref)(&b.Plan), (*day)(&b.Made), (*day)(&b.Ended))
	return b, err
}

const (
	selectBatch       = selectBatches + `WHERE b.id = $1`
	selectMarked      = selectBatches + `WHERE b.coop = $1 AND b.mark = $2`
	selectLive        = selectBatches + `WHERE b.member = $1 AND b.ended = '' ORDER BY v.folded, b.id`
	selectLiveOf      = selectBatches + `WHERE b.member = $1 AND b.variety = $2 AND b.ended = '' ORDER BY b.id`
	selectVarietyLive = selectBatches + `WHERE b.variety = $1 AND b.ended = '' ORDER BY b.member, b.id`
	selectCoopLive    = selectBatches + `WHERE b.member IN (SELECT id FROM member WHERE coop = $1) AND b.ended = '' ORDER BY b.member, v.folded, b.id`
	selectMarksLike   = `SELECT mark FROM batch WHERE coop = $1 AND mark >= $2 AND mark < $3 AND member = $4 AND ended = '' ORDER BY mark LIMIT $5`
)

func batchByID(ctx context.Context, tx *sql.Tx, id int64) (Batch, error) {
	return one(fault.New(fault.Missing, "That batch is not in the register. /stock list names yours."), tx.QueryRowContext(ctx, selectBatch, id), scanBatch)
}

// Batch gives a batch.
func (r *Register) Batch(ctx context.Context, id int64) (b Batch, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { b, err = batchByID(ctx, tx, id); return err })
	return b, err
}

// BatchMarked gives the co-op's batch of that mark.
func (r *Register) BatchMarked(ctx context.Context, coop int64, mark string) (b Batch, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		b, err = one(fault.New(fault.Missing, "The co-op has no batch %q. /stock list names yours.", mark), tx.QueryRowContext(ctx, selectMarked, coop, mark), scanBatch)
		return err
	})
	return b, err
}

// BatchesMarked gives those of the co-op's batches that have one of the marks, by mark.
func (r *Register) BatchesMarked(ctx context.Context, coop int64, marks []string) (found map[string]Batch, err error) {
	found = map[string]Batch{}
	err = r.read(ctx, func(tx *sql.Tx) error {
		for _, mark := range marks {
			some, err := list(ctx, tx, scanBatch, selectMarked, coop, mark)
			if err != nil {
				return err
			}
			for _, b := range some {
				found[mark] = b
			}
		}
		return nil
	})
	return found, err
}

// Marks gives the marks of a member's live batches that begin so, for completion.
func (r *Register) Marks(ctx context.Context, m Member, begin string, limit int) (marks []string, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		marks, err = list(ctx, tx, scanText, selectMarksLike, m.Coop, begin, begin+"\U0010FFFF", m.ID, limit)
		return err
	})
	return marks, err
}

// Batches gives a member's live batches by variety and age; of one variety where that is not 0.
func (r *Register) Batches(ctx context.Context, member, variety int64) (all []Batch, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = liveBatches(ctx, tx, member, variety); return err })
	return all, err
}

func liveBatches(ctx context.Context, tx *sql.Tx, member, variety int64) ([]Batch, error) {
	if variety == 0 {
		return list(ctx, tx, scanBatch, selectLive, member)
	}
	return list(ctx, tx, scanBatch, selectLiveOf, member, variety)
}

// BatchesOf gives all live batches of a variety in the co-op, by member.
func (r *Register) BatchesOf(ctx context.Context, variety int64) (all []Batch, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanBatch, selectVarietyLive, variety); return err })
	return all, err
}

// BatchesOfCoop gives all live batches of a co-op, by member, variety and age.
func (r *Register) BatchesOfCoop(ctx context.Context, coop int64) (all []Batch, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanBatch, selectCoopLive, coop); return err })
	return all, err
}

// Keeper is a member who has live plants of a variety.
type Keeper struct {
	Variety, Member int64
	Name            string // the member's
}

const selectKeepers = `
SELECT DISTINCT b.variety, m.id, m.name FROM member m JOIN batch b ON b.member = m.id AND b.ended = ''
WHERE m.coop = $1 ORDER BY m.id, b.variety`

// Keepers gives who in a co-op keeps which variety, the longest-standing members first.
func (r *Register) Keepers(ctx context.Context, coop int64) (all []Keeper, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, func(row scanner) (k Keeper, err error) {
			err = row.Scan(&k.Variety, &k.Member, &k.Name)
			return k, err
		}, selectKeepers, coop)
		return err
	})
	return all, err
}

// Each lineage query walks one way from a batch, nearest first, and ends at plants whose origin nobody recorded.
const (
	selectAncestors = `
WITH RECURSIVE line (id, steps) AS (
    SELECT parent, 1 FROM batch WHERE id = $1 AND parent IS NOT NULL
    UNION ALL
    SELECT b.parent, line.steps + 1 FROM batch b JOIN line ON b.id = line.id WHERE b.parent IS NOT NULL
)` + selectBatches + `JOIN line ON line.id = b.id ORDER BY line.steps`

	selectDescendants = `
WITH RECURSIVE line (id, steps) AS (
    SELECT id, 1 FROM batch WHERE parent = $1
    UNION ALL
    SELECT b.id, line.steps + 1 FROM batch b JOIN line ON b.parent = line.id
)` + selectBatches + `JOIN line ON line.id = b.id ORDER BY line.steps, b.id`
)

// Ancestors gives the batches that a batch came from, the nearest first.
func (r *Register) Ancestors(ctx context.Context, batch int64) (line []Batch, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { line, err = list(ctx, tx, scanBatch, selectAncestors, batch); return err })
	return line, err
}

// Descendants gives the batches that came from a batch, the nearest first; whoever has them.
func (r *Register) Descendants(ctx context.Context, batch int64) (line []Batch, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { line, err = list(ctx, tx, scanBatch, selectDescendants, batch); return err })
	return line, err
}

const (
	nextMark = `
INSERT INTO mark (coop, year, last) VALUES ($1, $2, 1)
ON CONFLICT (coop, year) DO UPDATE SET last = mark.last + 1 RETURNING last`
	insertBatch = `
INSERT INTO batch (coop, mark, variety, member, stage, since, count, spot, parent, plan, made)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11) RETURNING id`
	updateBatch = `UPDATE batch SET stage = $2, since = $3, count = $4, spot = $5, plan = $6, ended = $7 WHERE id = $1`
)

// newBatch stores a batch of the deed's member with the next mark of its year.
func (a *act) newBatch(ctx context.Context, b Batch) (Batch, error) {
	year := b.Made.Year()
	last, err := scanID(a.QueryRowContext(ctx, nextMark, a.own.Coop, year))
	if err != nil {
		return b, fmt.Errorf("numbering a batch: %w", err)
	}
	id, err := scanID(a.QueryRowContext(ctx, insertBatch, a.own.Coop, fmt.Sprintf("%02d-%d", year%100, last), b.Variety, a.own.ID,
		b.Stage, day(b.Since), b.Count, b.Spot, ref(b.Parent), ref(b.Plan), day(b.Made)))
	if err != nil {
		return b, fmt.Errorf("making a batch: %w", err)
	}
	if b, err = batchByID(ctx, a.Tx, id); err != nil {
		return b, err
	}
	return b, a.inherit(ctx, b)
}

// storeBatch keeps a batch's new state; it ends on the day on which none is left.
func (a *act) storeBatch(ctx context.Context, b Batch, on calendar.Day) error {
	b.Ended = 0
	if b.Count == 0 {
		b.Ended = on
	}
	if err := exec(ctx, a.Tx, updateBatch, b.ID, b.Stage, day(b.Since), b.Count, b.Spot, ref(b.Plan), day(b.Ended)); err != nil {
		return err
	}
	return a.fit(ctx, b.ID)
}
