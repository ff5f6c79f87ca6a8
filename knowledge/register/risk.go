package register

import (
	"context"
	"database/sql"
)

// Risk is a variety that the co-op may lose.
type Risk struct {
	Variety int64
	Name    string
	Members int      // who keep it
	Only    string   // the one who does, where it is one
	Plants  int      // stools and plants, without cuttings that have not rooted
	Could   []string // who could keep a second batch
}

// FewPlants is how many stools and plants a variety is down to when it is at risk.
const FewPlants = 5

// TellRisk is told to the group; its subject is the variety.
const TellRisk TidingKind = "variety-at-risk"

const (
	selectRisks = `
SELECT v.id, v.name, count(DISTINCT b.member), min(m.name), sum(CASE WHEN b.stage IN ('taken', 'struck') THEN 0 ELSE b.count END)
FROM batch b JOIN variety v ON v.id = b.variety JOIN member m ON m.id = b.member
WHERE b.coop = $1 AND b.ended = '' AND ($2 = 0 OR b.variety = $2)
GROUP BY v.id HAVING count(DISTINCT b.member) = 1 OR sum(CASE WHEN b.stage IN ('taken', 'struck') THEN 0 ELSE b.count END) <= $3
ORDER BY v.folded`
	countMembers = `SELECT count(*) FROM member WHERE coop = $1`
	// Who asks for it, who kept it before, and who keeps another of its season and form, in this order.
	selectCould = `
SELECT m.name FROM member m JOIN (
    SELECT w.member AS id, 1 AS rank FROM want w WHERE w.variety = $2 AND w.ended = ''
    UNION ALL SELECT b.member, 2 FROM batch b WHERE b.variety = $2 AND b.ended <> '' AND b.member IS NOT NULL
    UNION ALL SELECT b.member, 3 FROM variety v JOIN variety o ON o.coop = v.coop AND o.id <> v.id AND o.season = v.season AND o.form = v.form AND v.form <> ''
              JOIN batch b ON b.variety = o.id AND b.ended = '' WHERE v.id = $2
) c ON c.id = m.id
WHERE m.coop = $1 AND m.id NOT IN (SELECT member FROM batch WHERE variety = $2 AND ended = '' AND member IS NOT NULL)
GROUP BY m.id ORDER BY min(c.rank), m.id LIMIT 3`
)

// AtRisk gives the varieties that only one member keeps or that are down to a few plants; none in a co-op of one.
func (r *Register) AtRisk(ctx context.Context, coop int64) (all []Risk, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = risks(ctx, tx, coop, 0); return err })
	return all, err
}

// RiskOf gives the risk of one variety; ok is false where there is none.
func (r *Register) RiskOf(ctx context.Context, coop, variety int64) (risk Risk, ok bool, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err := risks(ctx, tx, coop, variety)
		if len(all) > 0 {
			risk, ok = all[0], true
		}
		return err
	})
	return risk, ok, err
}

func risks(ctx context.Context, tx *sql.Tx, coop, variety int64) ([]Risk, error) {
	members, err := scanID(tx.QueryRowContext(ctx, countMembers, coop))
	if err != nil || members < 2 {
		return nil, err
	}
	all, err := list(ctx, tx, func(row scanner) (k Risk, err error) {
		err = row.Scan(&k.Variety, &k.Name, &k.Members, &k.Only, &k.Plants)
		if k.Members > 1 {
			k.Only = ""
		}
		return k, err
	}, selectRisks, coop, variety, FewPlants)
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].Could, err = list(ctx, tx, scanText, selectCould, coop, all[i].Variety); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// riskier tells the group where a loss has put a variety at risk that was not before.
func (a *act) riskier(ctx context.Context, variety int64, before bool) error {
	if before {
		return nil
	}
	now, err := risks(ctx, a.Tx, a.own.Coop, variety)
	if err != nil || len(now) == 0 {
		return err
	}
	return a.tell(ctx, 0, TellRisk, variety)
}
