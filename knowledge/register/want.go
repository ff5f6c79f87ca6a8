package register

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

// Want is plants that a member can use until a day: of a variety, or any of a season, a form, a colour or like another.
type Want struct {
	ID      int64
	Coop    int64
	Member  int64
	Owner   string
	Variety int64  // 0: any that fits the rest
	Name    string // of the variety
	Like    int64
	LikeOf  string // the name of the variety that it is to be like
	Season  variety.Season
	Form    variety.Form
	Colour  string
	Stock   exchange.Stock
	Number  int
	Free    int // of the number, what nothing is promised for
	Last    calendar.Day
	Plan    int64 // the target that it serves, or 0
	MadeAt  time.Time
	Ended   calendar.Day
	Ending  ShelfEnding

	ownLast bool // its member said the day
}

// Wish is what a member says of a want.
type Wish struct {
	Variety, Like int64
	Season        variety.Season
	Form          variety.Form
	Colour        string
	Stock         exchange.Stock
	Number        int
	Last          calendar.Day // zero: the last day on which it serves the target
	Plan          int64        // the target; 0: the member's next one for the variety
}

const selectWants = `
SELECT w.id, w.coop, w.member, m.name, w.variety, COALESCE(v.name, ''), w.alike, COALESCE(l.name, ''), w.season, w.form, w.colour, w.stock,
       w.number, w.free, w.last, w.plan, w.made_at, w.ended, w.ending, w.own_last
FROM want w JOIN member m ON m.id = w.member LEFT JOIN variety v ON v.id = w.variety LEFT JOIN variety l ON l.id = w.alike
`

func scanWant(row scanner) (w Want, err error) {
	err = row.Scan(&w.ID, &w.Coop, &w.Member, &w.Owner, (*ref)(&w.Variety), &w.Name, (*ref)(&w.Like), &w.LikeOf, &w.Season, &w.Form, &w.Colour, &w.Stock,
		&w.Number, &w.Free, (*day)(&w.Last), (*ref)(&w.Plan), (*instant)(&w.MadeAt), (*day)(&w.Ended), &w.Ending, &w.ownLast)
	return w, err
}

const (
	selectWant      = selectWants + `WHERE w.id = $1`
	selectMyWants   = selectWants + `WHERE w.member = $1 AND w.ended = '' ORDER BY w.last, w.id`
	selectAllWants  = selectWants + `WHERE w.member = $1 ORDER BY w.id`
	selectPlanWants = selectWants + `WHERE w.plan = $1 AND w.ended = '' AND w.own_last = 0 ORDER BY w.id`
	insertWant      = `
INSERT INTO want (coop, member, variety, alike, season, form, colour, stock, number, free, last, plan, own_last, made_at)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $9, $10, $11, $12, $13) RETURNING id`
	endWant  = `UPDATE want SET ended = $2, ending = $3 WHERE id = $1 AND ended = ''`
	moveWant = `UPDATE want SET last = $2 WHERE id = $1`
)

func wantByID(ctx context.Context, tx *sql.Tx, id int64) (Want, error) {
	return one(fault.New(fault.Missing, "There is no want of that number. /swap list names those that are open."), tx.QueryRowContext(ctx, selectWant, id), scanWant)
}

// Want gives a want.
func (r *Register) Want(ctx context.Context, id int64) (w Want, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { w, err = wantByID(ctx, tx, id); return err })
	return w, err
}

// MyWants gives a member's open wants, the most urgent first.
func (r *Register) MyWants(ctx context.Context, member int64) (all []Want, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanWant, selectMyWants, member); return err })
	return all, err
}

// MakeWant records a want. Its last day, where none is said, is the last on which that form of stock still serves the
// member's target, and moves with the target's plan.
func (r *Register) MakeWant(ctx context.Context, actor Actor, of Wish) (w Want, err error) {
	return w, r.act(ctx, actor, func(a *act) error {
		if err := a.tend(ctx); err != nil {
			return err
		}
		if err := a.wishable(ctx, &of); err != nil {
			return err
		}
		own := !of.Last.IsZero()
		if err := a.serves(ctx, &of); err != nil {
			return err
		}
		id, err := scanID(a.QueryRowContext(ctx, insertWant, a.own.Coop, a.own.ID, ref(of.Variety), ref(of.Like), of.Season, of.Form, of.Colour, of.Stock,
			of.Number, day(of.Last), ref(of.Plan), own, a.at.Unix()))
		if err != nil {
			return fmt.Errorf("recording a want: %w", err)
		}
		w, err = wantByID(ctx, a.Tx, id)
		return err
	})
}

func (a *act) wishable(ctx context.Context, of *Wish) error {
	if of.Number < 1 {
		return fault.New(fault.Unclear, "How many do you want? Give a number of 1 or more.")
	}
	any := of.Season != "" || of.Form != "" || of.Colour != "" || of.Like != 0
	switch {
	case of.Variety == 0 && !any:
		return fault.New(fault.Unclear, "What is wanted? Name a variety:, or a season:, form: or colour:, or like: another variety.")
	case of.Variety != 0 && any:
		return fault.New(fault.Unclear, "Name the variety alone, or leave it out for any of a season, form or colour.")
	}
	for _, id := range []int64{of.Variety, of.Like} {
		if id == 0 {
			continue
		}
		v, err := a.variety(ctx, id)
		if err != nil {
			return err
		}
		season, _ := v.SeasonOrGuess()
		form, _ := v.FormOrGuess()
		if id == of.Like && season == variety.AnySeason && form == variety.AnyForm {
			return fault.New(fault.Unclear, "Neither season nor form of %s is known, so nothing can be found like it. Tell them with /variety add, or name season: and form: here.", v.Name)
		}
	}
	return nil
}

// serves settles the target and the last day of a want.
func (a *act) serves(ctx context.Context, of *Wish) error {
	if of.Plan == 0 && of.Variety != 0 {
		plans, err := list(ctx, a.Tx, scanPlan, selectMemberVarietyPlans, a.own.ID, of.Variety)
		if err != nil {
			return err
		}
		if i := slices.IndexFunc(plans, func(p Plan) bool { return !p.Keeps() }); i >= 0 {
			of.Plan = plans[i].ID
		}
	}
	if of.Plan != 0 {
		p, err := a.running(ctx, of.Plan)
		if err != nil {
			return err
		}
		if of.Variety != 0 && p.Variety != of.Variety {
			return fault.New(fault.Unclear, "That target is for %s. Name one for the same variety, or none.", p.Name)
		}
	}
	if of.Last.IsZero() && of.Plan != 0 {
		var err error
		if of.Last, err = servesUntil(ctx, a.Tx, of.Plan, of.Stock); err != nil {
			return err
		}
		if !of.Last.IsZero() && of.Last < a.today {
			return fault.New(fault.Unclear, "For your target %s would have been needed by %s. Say until: if they would serve all the same.", of.Stock, of.Last.Long())
		}
	}
	switch {
	case of.Last.IsZero():
		return fault.New(fault.Unclear, "Until when would they serve? Say it with until:, or aim at a bloom first with /target set: then it follows from the plan.")
	case of.Last < a.today:
		return fault.New(fault.Unclear, "%s has passed. Give an until: that is still to come.", of.Last.Long())
	}
	return nil
}

// needed gives the steps for which a form of stock has to be there, the likeliest first.
func neededFor(stock exchange.Stock) []crop.Kind {
	switch stock {
	case exchange.Stools:
		return []crop.Kind{crop.Wake}
	case exchange.Unrooted:
		return []crop.Kind{crop.Strike}
	case exchange.Rooted:
		return []crop.Kind{crop.Pot}
	}
	return []crop.Kind{crop.FinalPot, crop.PlantOut}
}

// servesUntil gives the last day on which a form of stock still serves a plan: the last safe day of the step that it has
// to be there for, else the latest. Zero where the plan has no such step.
func servesUntil(ctx context.Context, tx *sql.Tx, plan int64, stock exchange.Stock) (calendar.Day, error) {
	for _, kind := range neededFor(stock) {
		jobs, err := list(ctx, tx, scanJob, selectJob, plan, kind)
		if err != nil {
			return 0, err
		}
		for _, j := range jobs {
			switch {
			case j.State == JobDropped:
			case !j.LastSafe.IsZero():
				return j.LastSafe, nil
			default:
				return j.Window.Latest, nil
			}
		}
	}
	return 0, nil
}

// followPlan moves the last days of the wants that serve a plan which was reckoned anew.
func followPlan(ctx context.Context, tx *sql.Tx, plan int64) error {
	wants, err := list(ctx, tx, scanWant, selectPlanWants, plan)
	if err != nil {
		return err
	}
	for _, w := range wants {
		last, err := servesUntil(ctx, tx, plan, w.Stock)
		if err != nil {
			return err
		}
		if !last.IsZero() && last != w.Last {
			if err := exec(ctx, tx, moveWant, w.ID, day(last)); err != nil {
				return err
			}
		}
	}
	return nil
}

const (
	liveOfWant = selectSwaps + `WHERE s.want = $1 AND s.state IN ('agreed', 'given') ORDER BY s.id`
	openOfWant = `SELECT DISTINCT proposal FROM swap WHERE want = $1 AND state = 'proposed' ORDER BY proposal`
)

// WithdrawWant takes a want back. Open proposals that it is part of end, agreed swaps stand.
func (r *Register) WithdrawWant(ctx context.Context, actor Actor, id int64) (w Want, out Withdrawn, err error) {
	return w, out, r.act(ctx, actor, func(a *act) error {
		if w, err = wantByID(ctx, a.Tx, id); err != nil {
			return err
		}
		if err := a.mine(w.Member, fmt.Sprintf("Want %d", id)); err != nil {
			return err
		}
		if !w.Ended.IsZero() {
			return fault.New(fault.Taken, "Want %d ended on %s already (%s).", id, w.Ended.Long(), w.Ending)
		}
		if out.Broken, err = list(ctx, a.Tx, scanID, openOfWant, id); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, endWant, id, day(a.today), EndWithdrawn); err != nil {
			return fmt.Errorf("ending a want: %w", err)
		}
		if err := a.breakProposals(ctx, out.Broken, w.Owner+" withdrew the want"); err != nil {
			return err
		}
		out.Promise, err = list(ctx, a.Tx, scanSwap, liveOfWant, id)
		return err
	})
}

// Fits reports whether a variety serves the want; like is the one that it is to be like, where there is one.
func (w Want) Fits(v, like Variety) bool {
	if w.Variety != 0 {
		return v.ID == w.Variety
	}
	season, _ := v.SeasonOrGuess()
	form, _ := v.FormOrGuess()
	if w.Like != 0 {
		wanted, _ := like.SeasonOrGuess()
		shape, _ := like.FormOrGuess()
		if v.ID != like.ID && (season != wanted || form != shape) {
			return false
		}
	}
	return (w.Season == "" || season == w.Season) && (w.Form == "" || form == w.Form) &&
		(w.Colour == "" || variety.Fold(v.Colour) == variety.Fold(w.Colour))
}
