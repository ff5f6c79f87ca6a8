package register

import (
	"context"
	"fmt"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
	"shortday/knowledge/photo"
)

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
