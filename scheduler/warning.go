package scheduler

import (
	"context"
	"fmt"
	"strings"

	"shortday/knowledge/health"
	"shortday/knowledge/register"
)

// toLook is of how many plants a warning tells the way; the trace has them all.
const toLook = 5

// warningComposers are what is told of a pest.
func warningComposers() map[register.TidingKind]composer {
	return map[register.TidingKind]composer{
		register.LookToday: composeLook, register.ReportMoved: composeReportMoved, register.Unheld: composeUnheld, register.WarnGroup: composeGroupWarning,
		register.SwapHeld: composeSwapHeld,
	}
}

// composeLook tells a member to look at their plants today: which, in order of risk, and how they may have come by the
// pest. Other members are not named.
func composeLook(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	rep, err := reg.Report(ctx, t.Coop, t.Subject)
	if err != nil || rep.Undone || rep.Over {
		return n, false, err
	}
	trail, err := reg.Trace(ctx, rep.ID, t.Member)
	if err != nil || len(trail.Suspects) == 0 {
		return n, false, err
	}
	heeded, err := heededBy(ctx, reg, t, rep)
	if err != nil {
		return n, false, err
	}
	var ways []string
	for i, s := range trail.Suspects {
		if i == toLook {
			ways = append(ways, fmt.Sprintf("and %d more, in the trace.", len(trail.Suspects)-toLook))
			break
		}
		ways = append(ways, fmt.Sprintf("%d. %s, %s", i+1, s.Plants.Name, s.Words(t.Member, false)))
	}
	n.Title = "Look at your plants today: " + rep.PestName()
	n.Text = strings.Join([]string{
		heeded,
		fmt.Sprintf("%s was reported on %s, %s. It can stay hidden, so nobody is at fault; these plants of yours may share it, the likeliest first:", upper(rep.PestName()), rep.Seen.Long(), rep.Sure.Words()),
		strings.Join(ways, "\n"),
		"What is kin of it is held back from offers and handovers meanwhile. If you see it, report it; if not, record that you looked.",
	}, "\n\n")
	n.Next = []Offer{
		{Label: "The whole trace", Request: fmt.Sprintf("/health trace report:%d", rep.ID)},
		{Label: "I looked: record it", Request: "/job done look"},
	}
	return n, true, nil
}

// heededBy is what whom a notice is for has to heed of a report's pest, by the rules of where they grow.
func heededBy(ctx context.Context, reg *register.Register, t register.Tiding, rep register.Report) (string, error) {
	var seat register.Seat
	var err error
	if t.Member != 0 {
		seat, err = reg.Seat(ctx, t.Member)
	} else {
		seat.Coop, err = reg.Coop(ctx, t.Coop)
	}
	pest, _ := health.PestOf(rep.Pest)
	return strings.Join(pest.Heeded(seat.Country()), " "), err
}

// composeReportMoved tells those who know of a report that it was taken back, or how sure it is now.
func composeReportMoved(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	rep, err := reg.Report(ctx, t.Coop, t.Subject)
	if err != nil {
		return n, false, err
	}
	if rep.Undone {
		n.Title = "Taken back: the report of " + rep.PestName()
		n.Text = "It was recorded by mistake. Nothing is held back for it any more, and nobody has to look because of it."
		return n, true, nil
	}
	if rep.Over {
		return n, false, nil
	}
	n.Title = upper(rep.PestName()) + ": " + rep.Sure.Words()
	n.Text = fmt.Sprintf("The report of %s is now %s. What is held back stays so.", rep.Seen.Long(), rep.Sure.Words())
	if rep.Sure == register.Confirmed {
		heeded, err := heededBy(ctx, reg, t, rep)
		if err != nil {
			return n, false, err
		}
		n.Text = heeded + "\n\n" + n.Text + " Look at your plants again today."
	}
	n.Next = []Offer{{Label: "The trace", Request: fmt.Sprintf("/health trace report:%d", rep.ID)}}
	return n, true, nil
}

// composeUnheld tells those who know of a report what is no longer held for it, and why; or that it is held again.
func composeUnheld(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	c, err := reg.Clearance(ctx, t.Subject)
	if err != nil || c.Report.ID == 0 || c.Report.Undone {
		return n, false, err
	}
	pest := c.Report.PestName()
	what := "What was held back for it may be passed on again, unless something else holds it back too."
	if !c.Whole {
		var marks []string
		for _, b := range c.Batches {
			marks = append(marks, b.Mark+" ("+b.Name+")")
		}
		what = strings.Join(marks, ", ") + " may be passed on again; what else is held for it stays held."
	}
	if c.Undone {
		n.Title = "Held back again: " + pest
		n.Text = "What was cleared is held again, because that was a mistake. Look at your plants as before."
	} else {
		n.Title = "Cleared: " + pest
		n.Text = what
		if c.Reason != "" {
			n.Text += " Reason: " + c.Reason + "."
		}
	}
	if t.Member != 0 {
		n.Next = []Offer{{Label: "What of mine is still held", Request: "/health clear"}}
	}
	return n, true, nil
}

// composeGroupWarning tells the group what the reporter allows, without blame.
func composeGroupWarning(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	rep, err := reg.Report(ctx, t.Coop, t.Subject)
	if err != nil || rep.Undone || rep.Over || rep.Aloud == register.Silent {
		return n, false, err
	}
	pest, _ := health.PestOf(rep.Pest)
	name := pest.Name
	if pest.Key == health.Other {
		name = "a pest"
	}
	where := "in the co-op"
	if rep.Aloud != register.AloudPest {
		name = rep.PestName()
		where = "on " + strings.Join(namesOf(rep.Batches), ", ")
	}
	n.Title = "Look at your plants: " + name
	told := fmt.Sprintf("%s was reported %s, %s.", upper(name), where, rep.Sure.Words())
	if rep.Aloud == register.AloudName && rep.Owner != "" {
		told += " " + rep.Owner + " tells it so that all can look in time."
	}
	heeded, err := heededBy(ctx, reg, t, rep)
	if err != nil {
		return n, false, err
	}
	n.Text = strings.Join([]string{
		heeded,
		told + " It can stay hidden, so nobody is at fault. Who has plants that may share it was told of them; a look at all of them does no harm.",
	}, "\n\n")
	return n, true, nil
}

func namesOf(batches []register.Batch) (names []string) {
	seen := map[string]bool{}
	for _, b := range batches {
		if !seen[b.Name] {
			seen[b.Name], names = true, append(names, b.Name)
		}
	}
	return names
}

// composeSwapHeld tells who is to receive plants that they are held back, or to look at them where they were given.
func composeSwapHeld(ctx context.Context, reg *register.Register, n Notice, t register.Tiding) (Notice, bool, error) {
	s, err := reg.Swap(ctx, t.Subject)
	if err != nil || s.Batch == 0 || s.State != register.Agreed && s.State != register.HandedOver {
		return n, false, err
	}
	h, err := reg.HoldOf(ctx, s.Batch, n.Day)
	if err != nil || h.Report == 0 {
		return n, false, err
	}
	rep, err := reg.Report(ctx, t.Coop, h.Report)
	if err != nil {
		return n, false, err
	}
	heeded, err := heededBy(ctx, reg, t, rep)
	if err != nil {
		return n, false, err
	}
	n.Text = heeded + "\n\n"
	told := fmt.Sprintf("%s was reported on these plants or their kin, %s. It can stay hidden, so nobody is at fault. ", upper(rep.PestName()), rep.Sure.Words())
	if s.State == register.HandedOver {
		n.Title = fmt.Sprintf("Look at the plants of swap %d today: %s", s.ID, rep.PestName())
		n.Text += told + "Keep them apart, look at them today, and say what came with /swap received."
		return n, true, nil
	}
	n.Title = fmt.Sprintf("Swap %d is held back: %s", s.ID, rep.PestName())
	n.Text += s.Sentence() + ". " + told + "They are not handed over until " + h.Last.Long() + ", unless the hold is cleared before."
	n.Next = []Offer{{Label: "Cancel it", Request: fmt.Sprintf("/swap cancel swap:%d", s.ID)}}
	return n, true, nil
}
