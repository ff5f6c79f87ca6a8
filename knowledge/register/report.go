package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
)

// Report is a pest that was seen on batches of a member's.
type Report struct {
	ID      int64
	Coop    int64
	Member  int64  // whose plants; 0 once they left
	Owner   string // the member's name
	Event   int64
	Pest    health.Key
	What    string // what is seen, in words
	Sure    Sureness
	Seen    calendar.Day
	Since   calendar.Day // the infection was nowhere before, as far as the pest is known
	Aloud   Aloud
	Undone  bool
	Over    bool    // all that it held was cleared
	Batches []Batch // on which it was seen
}

// Sureness is how sure a report is. It changes what is said, and not what is held. Its text is stored and never changes.
type Sureness string

// How sure a report is.
const (
	Suspected Sureness = "suspected"
	SawIt     Sureness = "seen"
	Confirmed Sureness = "confirmed" // by a laboratory or an inspector
)

// Aloud is what the group may hear of a report. Its text is stored and never changes.
type Aloud string

// What the group may hear; each includes those before it.
const (
	Silent       Aloud = "nothing"
	AloudPest    Aloud = "pest"
	AloudVariety Aloud = "variety"
	AloudName    Aloud = "name"
)

// The kinds of tiding that tell of a pest: to look today, that a report was changed or taken back, that a hold was
// cleared, and to the group. Subjects are reports, of Unheld a clearing.
const (
	LookToday   TidingKind = "health-look"
	ReportMoved TidingKind = "health-report"
	Unheld      TidingKind = "health-cleared"
	WarnGroup   TidingKind = "health-group"
)

// Words says how sure a report is.
func (s Sureness) Words() string {
	switch s {
	case SawIt:
		return "seen plainly"
	case Confirmed:
		return "confirmed by a laboratory or inspector"
	}
	return "suspected"
}

// PestName names the pest, where it is none of those known by its words.
func (r Report) PestName() string {
	if p, ok := health.PestOf(r.Pest); ok && p.Key != health.Other {
		return p.Name
	}
	return "a pest (" + r.What + ")"
}

const (
	selectReports = `
SELECT r.id, r.coop, r.member, COALESCE(m.name, ''), r.event, r.pest, r.what, r.sure, r.seen, r.since, r.aloud, r.undone,
       NOT EXISTS (SELECT 1 FROM hold h WHERE h.report = r.id AND h.clearing IS NULL)
FROM report r LEFT JOIN member m ON m.id = r.member
`
	selectReport    = selectReports + `WHERE r.id = $1`
	selectReportsBy = selectReports + `WHERE r.member = $1 ORDER BY r.id`
	selectEventOf   = selectReports + `WHERE r.event = $1`
	selectAlready   = `
SELECT r.id FROM hold h JOIN report r ON r.id = h.report
WHERE h.batch = $1 AND h.why = 'seen' AND h.clearing IS NULL AND r.undone = 0 AND r.pest = $2 AND r.seen = $3`
	selectConcerns = selectReports + `
WHERE r.coop = $1 AND r.undone = 0 AND (r.member = $2 OR EXISTS (SELECT 1 FROM warned w WHERE w.report = r.id AND w.member = $2)
      OR EXISTS (SELECT 1 FROM hold h JOIN batch b ON b.id = h.batch WHERE h.report = r.id AND b.member = $2))
ORDER BY r.id DESC`
	selectOpenReports = selectReports + `
WHERE r.coop = $1 AND r.undone = 0 AND EXISTS (SELECT 1 FROM hold h WHERE h.report = r.id AND h.clearing IS NULL AND h.last >= $2) ORDER BY r.id DESC`
	selectSeenOn = selectBatches + `WHERE b.id IN (SELECT batch FROM hold WHERE report = $1 AND why = 'seen') ORDER BY b.id`
	insertReport = `
INSERT INTO report (coop, member, event, pest, what, sure, seen, since, aloud) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) RETURNING id`
	amendReport  = `UPDATE report SET sure = $2, aloud = $3, what = $4 WHERE id = $1`
	insertWarned = `INSERT INTO warned (report, member, day, asked) VALUES ($1, $2, $3, $4) ON CONFLICT (report, member) DO NOTHING RETURNING member`
	selectWarned = `SELECT member FROM warned WHERE report = $1 ORDER BY member`
)

func scanReport(row scanner) (r Report, err error) {
	err = row.Scan(&r.ID, &r.Coop, (*ref)(&r.Member), &r.Owner, (*ref)(&r.Event), &r.Pest, &r.What, &r.Sure, (*day)(&r.Seen), (*day)(&r.Since), &r.Aloud, &r.Undone, &r.Over)
	return r, err
}

func reportByID(ctx context.Context, tx *sql.Tx, id int64) (Report, error) {
	rep, err := one(fault.New(fault.Missing, "There is no report %d. /health trace lists those that concern you.", id), tx.QueryRowContext(ctx, selectReport, id), scanReport)
	if err == nil {
		rep.Batches, err = list(ctx, tx, scanBatch, selectSeenOn, id)
	}
	return rep, err
}

// Report gives a report of the co-op.
func (r *Register) Report(ctx context.Context, coop, id int64) (rep Report, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		if rep, err = reportByID(ctx, tx, id); err == nil && rep.Coop != coop {
			err = fault.New(fault.Missing, "There is no report %d. /health trace lists those that concern you.", id)
		}
		return err
	})
	return rep, err
}

// Reports gives those that concern a member and stand, the newest first: their own, those they learnt of, and those that
// hold plants of theirs.
func (r *Register) Reports(ctx context.Context, m Member) ([]Report, error) {
	return r.reports(ctx, selectConcerns, m.Coop, m.ID)
}

// OpenReports gives a co-op's reports by which anything is held on a day, the newest first.
func (r *Register) OpenReports(ctx context.Context, coop int64, today calendar.Day) ([]Report, error) {
	return r.reports(ctx, selectOpenReports, coop, day(today))
}

func (r *Register) reports(ctx context.Context, query string, args ...any) (all []Report, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		all, err = list(ctx, tx, scanReport, query, args...)
		for i := 0; i < len(all) && err == nil; i++ {
			all[i].Batches, err = list(ctx, tx, scanBatch, selectSeenOn, all[i].ID)
		}
		return err
	})
	return all, err
}
