package register

import (
	"context"
	"database/sql"
)

// Risk is a variety that the co-op may lose.
type Risk struct {
	Variety int64
	Name    string
	Members int      // who keep it: 1, or 2 for two and more
	Only    string   // the one who does, where it is one
	Plants  int      // stools and plants, without cuttings that have not rooted
	Could   []string // who could keep a second batch
}

// FewPlants is how many stools and plants a variety is down to when it is at risk.
const FewPlants = 5

// TellRisk is told to the group; its subject is the variety.
const TellRisk TidingKind = "variety-at-risk"

const (
	// Neither looks at more of a common variety's batches than it takes to see that it is in no danger.
	riskyVarieties = `
SELECT id, name, members, plants FROM (
    SELECT v.id, v.name, v.folded, (SELECT count(*) FROM (SELECT DISTINCT b.member FROM batch b WHERE b.variety = v.id AND b.ended = '' LIMIT 2)) AS members,
           (SELECT COALESCE(sum(count), 0) FROM (SELECT b.count FROM batch b
            WHERE b.variety = v.id AND b.ended = '' AND b.stage NOT IN ('taken', 'struck') LIMIT $2)) AS plants
    FROM variety v WHERE `
	riskyAlone = `) r WHERE members = 1 OR members > 1 AND plants < $2 ORDER BY folded LIMIT $3`
	riskyCoop  = riskyVarieties + `v.coop = $1` + riskyAlone
	riskyOne   = riskyVarieties + `v.id = $1` + riskyAlone
	selectOnly = `
SELECT m.name, sum(CASE WHEN b.stage IN ('taken', 'struck') THEN 0 ELSE b.count END)
FROM batch b JOIN member m ON m.id = b.member WHERE b.variety = $1 AND b.ended = '' GROUP BY m.id`
	countMembers = `SELECT count(*) FROM member WHERE coop = $1`
	// Who asks for it, who kept it before, and who keeps another of its season and form, in this order.
	selectCould = `
SELECT m.name FROM member m JOIN (
    SELECT w.member AS id, 1 AS rank FROM want w WHERE w.variety = $2 AND w.ended = ''
    UNION ALL SELECT b.member, 2 FROM batch b WHERE b.variety = $2 AND b.ended <> '' AND b.member IS NOT NULL
    UNION ALL SELECT member, 3 FROM (SELECT b.member FROM variety v JOIN variety o ON o.coop = v.coop AND o.id <> v.id AND o.season = v.season AND o.form = v.form AND v.form <> ''
              JOIN batch b ON b.variety = o.id AND b.ended = '' WHERE v.id = $2 LIMIT 100) alike
) c ON c.id = m.id
WHERE m.coop = $1 AND m.id NOT IN (SELECT member FROM batch WHERE variety = $2 AND ended = '' AND member IS NOT NULL)
GROUP BY m.id ORDER BY min(c.rank), m.id LIMIT 3`
)

// AtRisk gives the varieties that only one member keeps or that are down to a few plants, by name and at most so many;
// none in a co-op of one.
func (r *Register) AtRisk(ctx context.Context, coop int64, limit int) (all []Risk, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = risks(ctx, tx, coop, riskyCoop, coop, limit); return err })
	return all, err
}

// RiskOf gives the risk of one variety; ok is false where there is none.
func (r *Register) RiskOf(ctx context.Context, coop, variety int64) (risk Risk, ok bool, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err := risks(ctx, tx, coop, riskyOne, variety, 1)
		if len(all) > 0 {
			risk, ok = all[0], true
		}
		return err
	})
	return risk, ok, err
}

func risks(ctx context.Context, tx *sql.Tx, coop int64, query string, of int64, limit int) ([]Risk, error) {
	members, err := scanID(tx.QueryRowContext(ctx, countMembers, coop))
	if err != nil || members < 2 {
		return nil, err
	}
	all, err := list(ctx, tx, func(row scanner) (k Risk, err error) {
		err = row.Scan(&k.Variety, &k.Name, &k.Members, &k.Plants)
		return k, err
	}, query, of, FewPlants+1, limit)
	if err != nil {
		return nil, err
	}
	for i := range all {
		k := &all[i]
		if k.Members == 1 {
			if err := tx.QueryRowContext(ctx, selectOnly, k.Variety).Scan(&k.Only, &k.Plants); err != nil {
				return nil, err
			}
		}
		if k.Could, err = list(ctx, tx, scanText, selectCould, coop, k.Variety); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// risky reports whether a variety of the deed's co-op is at risk.
func (a *act) risky(ctx context.Context, variety int64) (bool, error) {
	all, err := risks(ctx, a.Tx, a.own.Coop, riskyOne, variety, 1)
	return len(all) > 0, err
}

// riskier tells the group where a loss has put a variety at risk that was not before.
func (a *act) riskier(ctx context.Context, variety int64, before bool) error {
	now, err := a.risky(ctx, variety)
	if err != nil || before || !now {
		return err
	}
	return a.tell(ctx, 0, TellRisk, variety)
}
