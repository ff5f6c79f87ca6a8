package requests

import (
	"context"
	"fmt"

	"shortday/bot"
	"shortday/knowledge/crop"
	"shortday/knowledge/raising"
	"shortday/knowledge/register"
)

// held is how many stools of a variety a member has, how many of them are kept back, and how many the targets need whose
// cuttings are still to be struck.
type held struct{ have, keep, aimed int }

// spare is what is left to raise from for something else, or to give away; below zero so many are missing.
func (s held) spare() int { return s.have - s.keep - s.aimed }

func isStools(b register.Batch) bool { return b.Stage == crop.Boxed || b.Stage == crop.Woken }

// says tells what of the stools is spoken for: ", 3 kept back, 6 for your targets".
func (s held) says() string {
	text := fmt.Sprintf("%d kept back to go on with", min(s.keep, s.have))
	if s.aimed > 0 {
		text += fmt.Sprintf(", %d for your targets", s.aimed)
	}
	return text
}

// stools counts the stools of a variety; but is the target that they are counted for, 0 for none.
func (c counter) stools(ctx context.Context, in *bot.In, seat register.Seat, own register.Member, variety, but int64) (held, error) {
	s := held{keep: own.KeepStools}
	batches, err := c.reg.Batches(ctx, own.ID, variety)
	if err != nil {
		return s, err
	}
	for _, b := range batches {
		if isStools(b) {
			s.have += b.Count
		}
	}
	plans, err := c.reg.Plans(ctx, own.ID, variety)
	if err != nil {
		return s, err
	}
	for _, p := range plans {
		if p.Keeps() || p.ID == but || p.Stems == 0 || p.Refusal != "" {
			continue
		}
		needs, err := c.stoolsFor(ctx, in, seat, p)
		if err != nil {
			return s, err
		}
		s.aimed += needs
	}
	return s, nil
}

// stoolsFor gives how many stools a target takes, 0 once its cuttings are struck.
func (c counter) stoolsFor(ctx context.Context, in *bot.In, seat register.Seat, p register.Plan) (int, error) {
	jobs, err := c.reg.JobsOf(ctx, p.ID)
	if err != nil {
		return 0, err
	}
	open := false
	for _, j := range jobs {
		open = open || j.Kind == crop.Strike && j.State == register.JobOpen
	}
	if !open {
		return 0, nil
	}
	v, err := c.reg.Variety(ctx, p.Variety)
	if err != nil {
		return 0, err
	}
	set, err := c.reg.Settings(ctx, seat.Coop.ID)
	if err != nil {
		return 0, err
	}
	u := undertaking{seat: seat, variety: v, grown: v.Variety}
	u.Stems, u.Certainty = p.Stems, set[certaintySetting]/100
	u.StemsPerPlant, _ = v.StemsKept()
	u.Rates = c.rates(ctx, in, u, ratesOf(set))
	n, err := raising.Raise(u.Need)
	return n.Stools, first(in.Err(), err)
}

// leftOf says what stools remain of a batch's variety, against what is spoken for.
func (c counter) leftOf(ctx context.Context, in *bot.In, seat register.Seat, own register.Member, b register.Batch) (string, error) {
	if !isStools(b) {
		return "", nil
	}
	s, err := c.stools(ctx, in, seat, own, b.Variety, 0)
	left := fmt.Sprintf("That leaves %s of %s", plural(s.have, "stool", "stools"), b.Name)
	switch {
	case err != nil:
		return "", err
	case s.have < s.keep:
		return fmt.Sprintf("%s, %d fewer than the %d to keep: ask the co-op for some before it is lost.", left, s.keep-s.have, s.keep), nil
	case s.spare() < 0:
		return fmt.Sprintf("%s: %s, which is %d too few: ask the co-op for some, or for rooted cuttings.", left, s.says(), -s.spare()), nil
	}
	return fmt.Sprintf("%s: %s, %d to raise from or to spare.", left, s.says(), s.spare()), nil
}
