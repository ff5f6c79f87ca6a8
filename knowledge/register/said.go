package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
)

// Word is one thing told of a job. The group and each member are told it once.
type Word struct {
	Plan  int64
	Step  crop.Kind // "" of a plan as a whole
	About About
	On    calendar.Day // the day it was told of; zero where it is told once whatever the day
}

// About is what is told of a job. Its text is stored and never changes.
type About string

// What is told: that a job is due, that it is overdue, that it comes in a week, that its last safe day comes, and that
// its target is out of reach.
const (
	SayDue      About = "due"
	SayOverdue  About = "overdue"
	SayAhead    About = "ahead"
	SayLastSafe About = "last-safe"
	SayMissed   About = "missed"
)

const (
	insertSaid = `
INSERT INTO said (plan, step, about, day, told, at) SELECT $1, $2, $3, $4, $5, $6 WHERE EXISTS (SELECT 1 FROM plan WHERE id = $1)
ON CONFLICT (plan, step, about, day, told) DO NOTHING`
	selectSaidOf = `
SELECT s.plan, s.step, s.about, s.day FROM said s JOIN plan p ON p.id = s.plan
WHERE p.member = $1 AND s.told IN (0, $1) ORDER BY s.plan, s.step, s.about, s.day`
)

// keepSaid keeps what a notice told the group (member 0) or a member; what a plan that is gone was told of is not kept.
func keepSaid(ctx context.Context, tx *sql.Tx, member int64, words []Word, at time.Time) error {
	for _, w := range words {
		if err := exec(ctx, tx, insertSaid, w.Plan, w.Step, w.About, day(w.On), member, instant(at)); err != nil {
			return fmt.Errorf("keeping what was told: %w", err)
		}
	}
	return nil
}

func scanWord(row scanner) (w Word, err error) {
	err = row.Scan(&w.Plan, &w.Step, &w.About, (*day)(&w.On))
	return w, err
}
