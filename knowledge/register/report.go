package register

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
	"shortday/knowledge/photo"
	"shortday/knowledge/variety"
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

// Sighting is a pest that a member saw.
type Sighting struct {
	Batches []int64
	Pest    health.Key
	What    string
	Sure    Sureness     // "": Suspected
	Seen    calendar.Day // zero: today
	Aloud   Aloud        // "": Silent
	Photos  []photo.Photo
}

// Sighted is what a report led to.
type Sighted struct {
	Report Report
	Kin    []Batch // the member's own live batches that are held besides
	Others int     // live batches of other members that are held
	Warned int     // members who are told
	Beside []Batch // the member's live batches that stand beside it now and are not held by the report
	Last   calendar.Day
}

// Sight records that a pest was seen. It holds the batches and their kin, and tells at once all members who should look.
func (r *Register) Sight(ctx context.Context, actor Actor, s Sighting) (out Sighted, err error) {
	return out, r.act(ctx, actor, func(a *act) error {
		batches, pest, err := a.sighting(ctx, &s)
		if err != nil {
			return err
		}
		e := Event{Deed: Reported, On: s.Seen, Count: len(batches), Note: joined(pest.Name, s.What), Variety: batches[0].Variety}
		for _, b := range batches {
			if b.Variety != e.Variety {
				e.Variety = 0
				break
			}
		}
		if e, err = a.record(ctx, e, ""); err != nil {
			return err
		}
		out.Last = pest.HeldUntil(s.Seen)
		since := s.Seen.Add(-pest.Hidden.BackMax)
		id, err := scanID(a.QueryRowContext(ctx, insertReport, a.own.Coop, a.own.ID, e.ID, s.Pest, s.What, s.Sure, day(s.Seen), day(since), s.Aloud))
		if err != nil {
			return fmt.Errorf("reporting a pest: %w", err)
		}
		if err := a.keepPhotos(ctx, 0, id, s.Photos); err != nil {
			return err
		}
		for _, b := range batches {
			if err := a.touch(ctx, e.ID, b, "", 0, false); err != nil {
				return err
			}
			if err := exec(ctx, a.Tx, insertHold, b.ID, id, HeldSeen, day(since), day(out.Last)); err != nil {
				return fmt.Errorf("holding a batch: %w", err)
			}
		}
		if out.Report, err = reportByID(ctx, a.Tx, id); err != nil {
			return err
		}
		return a.spread(ctx, &out)
	})
}

func joined(a, b string) string {
	if b == "" {
		return a
	}
	return a + ": " + b
}

func (a *act) sighting(ctx context.Context, s *Sighting) (batches []Batch, pest health.Pest, err error) {
	if s.Seen.IsZero() {
		s.Seen = a.today
	}
	if s.Sure == "" {
		s.Sure = Suspected
	}
	if s.Aloud == "" {
		s.Aloud = Silent
	}
	pest, ok := health.PestOf(s.Pest)
	switch {
	case !ok:
		return nil, pest, fault.New(fault.Unclear, "Which pest is it? Name one, or other with what you see in words.")
	case s.Pest == health.Other && s.What == "":
		return nil, pest, fault.New(fault.Unclear, "What do you see? Add what: with a few words, since no pest is named.")
	case s.Seen > a.today:
		return nil, pest, fault.New(fault.Unclear, "%s is still to come. Report a pest once it is seen.", s.Seen.Long())
	case len(s.Batches) == 0:
		return nil, pest, fault.New(fault.Unclear, "On which plants? Name a batch, a variety or the spot where they stand.")
	}
	for _, id := range s.Batches {
		b, err := batchByID(ctx, a.Tx, id)
		if err != nil {
			return nil, pest, err
		}
		if err := a.mine(b.Member, "Batch "+b.Mark); err != nil {
			return nil, pest, err
		}
		switch {
		case s.Seen < b.Made:
			return nil, pest, fault.New(fault.Unclear, "Batch %s exists only since %s. Give that day or a later one.", b.Mark, b.Made.Long())
		case !b.Live() && s.Seen > b.Ended:
			return nil, pest, fault.New(fault.Taken, "Batch %s has no plants left since %s. Give that day or an earlier one, or name another batch.", b.Mark, b.Ended.Long())
		}
		same, err := list(ctx, a.Tx, scanID, selectAlready, b.ID, s.Pest, day(s.Seen))
		if err != nil {
			return nil, pest, err
		}
		if len(same) > 0 {
			return nil, pest, fault.New(fault.Taken, "That is report %d already. /health trace report:%d shows it; /health report number:%d changes how sure it is.", same[0], same[0], same[0])
		}
		batches = append(batches, b)
	}
	return batches, pest, nil
}

// spread holds the kin of what was reported and tells those who should look.
func (a *act) spread(ctx context.Context, out *Sighted) error {
	rep := out.Report
	kin, err := traced(ctx, a.Tx, rep, false)
	if err != nil {
		return err
	}
	held := map[int64]bool{}
	for _, b := range rep.Batches {
		held[b.ID] = true
	}
	for _, k := range kin {
		since := rep.Since
		if k.Side == health.Target {
			since = k.Day
		}
		if err := exec(ctx, a.Tx, insertHold, k.Batch, rep.ID, HeldKin, day(since), day(out.Last)); err != nil {
			return fmt.Errorf("holding kin: %w", err)
		}
		held[k.Batch] = true
		b, err := batchByID(ctx, a.Tx, k.Batch)
		switch {
		case err != nil:
			return err
		case b.Live() && b.Member == a.own.ID:
			out.Kin = append(out.Kin, b)
		case b.Live():
			out.Others++
		}
	}
	if out.Warned, err = a.warnAll(ctx, rep); err != nil {
		return err
	}
	if err := a.warnReceivers(ctx, rep); err != nil {
		return err
	}
	if out.Beside, err = a.neighbours(ctx, rep, held); err != nil || rep.Aloud == Silent {
		return err
	}
	return a.tell(ctx, 0, WarnGroup, rep.ID)
}

// warnAll tells every other member who has plants that should be looked at.
func (a *act) warnAll(ctx context.Context, rep Report) (told int, err error) {
	all, err := traced(ctx, a.Tx, rep, true)
	if err != nil {
		return 0, err
	}
	for _, s := range all {
		b, err := batchByID(ctx, a.Tx, s.Batch)
		if err != nil {
			return told, err
		}
		if !b.Live() || b.Member == 0 {
			continue
		}
		fresh, err := a.warn(ctx, rep, b.Member)
		if err != nil {
			return told, err
		}
		if fresh {
			told++
		}
	}
	return told, nil
}

// warn tells a member to look, unless the report is theirs or they know of it.
func (a *act) warn(ctx context.Context, rep Report, member int64) (fresh bool, err error) {
	if member == rep.Member {
		return false, nil
	}
	told, err := list(ctx, a.Tx, scanID, insertWarned, rep.ID, member, day(a.today), false)
	if err != nil || len(told) == 0 {
		return false, err
	}
	return true, a.tell(ctx, member, LookToday, rep.ID)
}

const selectBeside = selectBatches + `WHERE b.member = $1 AND b.ended = '' AND b.spot <> '' ORDER BY b.id`

// neighbours gives what stands in the same places now, is not held by the report, and has none of its own of that day.
func (a *act) neighbours(ctx context.Context, rep Report, held map[int64]bool) (beside []Batch, err error) {
	spots := map[string]bool{}
	for _, b := range rep.Batches {
		if b.Live() && b.Spot != "" {
			spots[variety.Fold(b.Spot)] = true
		}
	}
	if len(spots) == 0 {
		return nil, nil
	}
	live, err := list(ctx, a.Tx, scanBatch, selectBeside, a.own.ID)
	if err != nil {
		return nil, err
	}
	for _, b := range live {
		if !spots[variety.Fold(b.Spot)] || held[b.ID] {
			continue
		}
		same, err := list(ctx, a.Tx, scanID, selectAlready, b.ID, rep.Pest, day(rep.Seen))
		if err != nil {
			return nil, err
		}
		if len(same) == 0 {
			beside = append(beside, b)
		}
	}
	return beside, nil
}

// Amended is what a member changes of a report; "" leaves it as it is.
type Amended struct {
	Report int64
	Sure   Sureness
	Aloud  Aloud
	What   string
}

// Amend changes how sure a report is and what the group may hear. Those who were told of it are told of another
// sureness, and the group of what it may hear now.
func (r *Register) Amend(ctx context.Context, actor Actor, c Amended) (rep Report, err error) {
	return rep, r.act(ctx, actor, func(a *act) error {
		was, err := a.ownReport(ctx, c.Report)
		if err != nil {
			return err
		}
		now := was
		if c.Sure != "" {
			now.Sure = c.Sure
		}
		if c.Aloud != "" {
			now.Aloud = c.Aloud
		}
		if c.What != "" {
			now.What = c.What
		}
		if err := exec(ctx, a.Tx, amendReport, now.ID, now.Sure, now.Aloud, now.What); err != nil {
			return fmt.Errorf("changing a report: %w", err)
		}
		if now.Sure != was.Sure {
			if _, err := a.tellWarned(ctx, now, ReportMoved, now.ID); err != nil {
				return err
			}
		}
		if now.Aloud != Silent && (now.Aloud != was.Aloud || now.Sure != was.Sure) {
			err = a.tell(ctx, 0, WarnGroup, now.ID)
		}
		rep = now
		return err
	})
}

// ownReport gives a report of the member's own that stands; once its member left it is any steward's.
func (a *act) ownReport(ctx context.Context, id int64) (Report, error) {
	rep, err := reportByID(ctx, a.Tx, id)
	switch {
	case err != nil:
		return rep, err
	case rep.Coop != a.own.Coop:
		return rep, fault.New(fault.Missing, "There is no report %d. /health trace lists those that concern you.", id)
	case rep.Undone:
		return rep, fault.New(fault.Taken, "Report %d was taken back. Report the pest again if it is there.", id)
	case rep.Member == 0 && a.by.Steward:
		return rep, nil
	}
	return rep, a.mine(rep.Member, fmt.Sprintf("Report %d", id))
}

// tellWarned tells all who learnt of a report, and the one who made it, but not the member whose deed it is.
func (a *act) tellWarned(ctx context.Context, rep Report, kind TidingKind, subject int64) (told int, err error) {
	knows, err := list(ctx, a.Tx, scanID, selectWarned, rep.ID)
	if err != nil {
		return 0, err
	}
	for _, member := range append(knows, rep.Member) {
		if member == a.own.ID || member == 0 {
			continue
		}
		if err := a.tell(ctx, member, kind, subject); err != nil {
			return told, err
		}
		told++
	}
	return told, nil
}

// Learnt keeps that a member learnt of a report by asking for its trace: what becomes of it they are told.
func (r *Register) Learnt(ctx context.Context, actor Actor, report int64) error {
	return r.act(ctx, actor, func(a *act) error {
		_, err := list(ctx, a.Tx, scanID, insertWarned, report, a.own.ID, day(a.today), true)
		return err
	})
}

const (
	forgetWarned = `
DELETE FROM warned WHERE report = $1 AND asked = 0
AND member IN (SELECT member FROM tiding WHERE taken = 0 AND kind = 'health-look' AND subject = $1)`
	dropUntaken = `DELETE FROM tiding WHERE taken = 0 AND kind IN ('health-look', 'health-group') AND subject = $1 RETURNING COALESCE(member, 0)`
	undoReport  = `UPDATE report SET undone = 1 WHERE id = $1`
)

// takeBackReport ends what a report held, and tells those who were told of it. Who was not told yet hears nothing.
func (a *act) takeBackReport(ctx context.Context, e Event, reason string) error {
	reports, err := list(ctx, a.Tx, scanReport, selectEventOf, e.ID)
	if err != nil || len(reports) == 0 {
		return err
	}
	rep := reports[0]
	for _, query := range []string{forgetWarned, undoReport} {
		if err := exec(ctx, a.Tx, query, rep.ID); err != nil {
			return fmt.Errorf("taking a report back: %w", err)
		}
	}
	spared, err := list(ctx, a.Tx, scanID, dropUntaken, rep.ID)
	if err != nil {
		return err
	}
	if _, err := a.unhold(ctx, clearing{report: rep.ID, event: e.ID, whole: true, reason: reason}, unholdReport, rep.ID); err != nil {
		return err
	}
	if _, err := a.tellWarned(ctx, rep, ReportMoved, rep.ID); err != nil || rep.Aloud == Silent || slices.Contains(spared, 0) {
		return err
	}
	return a.tell(ctx, 0, ReportMoved, rep.ID)
}
