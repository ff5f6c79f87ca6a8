package requests

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
	"shortday/knowledge/register"
)

// healthTrace traces a report for those whom it concerns; without one it lists the reports that do.
func (c counter) healthTrace(ctx context.Context, in *bot.In) (bot.Reply, error) {
	number := int64(in.Whole("report"))
	seat := c.seat(ctx, in)
	batch := c.batch(ctx, in, seat.Coop.ID, "batch")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	reports, err := c.concerning(ctx, in, seat)
	if err != nil {
		return bot.Reply{}, err
	}
	if batch.ID != 0 {
		hold, err := c.reg.HoldOf(ctx, batch.ID, in.Today())
		if err != nil {
			return bot.Reply{}, err
		}
		if number = hold.Report; number == 0 {
			return bot.Reply{}, fault.New(fault.Missing, "No report holds batch %s back. /health trace lists those that concern you.", batch.Mark)
		}
	}
	if number == 0 && len(reports) == 1 {
		number = reports[0].ID
	}
	if number == 0 {
		return c.listReports(reports, in)
	}
	return c.traceReport(ctx, in, seat, reports, number)
}

// concerning gives the reports that the asker may look into: those that concern them, of a steward all that hold plants.
func (c counter) concerning(ctx context.Context, in *bot.In, seat register.Seat) ([]register.Report, error) {
	reports, err := c.reg.Reports(ctx, seat.Member)
	if err != nil || !seat.Member.Steward {
		return reports, err
	}
	open, err := c.reg.OpenReports(ctx, seat.Coop.ID, in.Today())
	for _, r := range open {
		if !slices.ContainsFunc(reports, func(known register.Report) bool { return known.ID == r.ID }) {
			reports = append(reports, r)
		}
	}
	return reports, err
}

func (c counter) listReports(reports []register.Report, in *bot.In) (bot.Reply, error) {
	reply := bot.Reply{Title: "Reports that concern you", Private: true, Text: "No pest was reported that concerns your plants. /health report reports one."}
	if len(reports) == 0 {
		return reply, nil
	}
	reply.Text = "Name one to see its trace, as in /health trace " + strconv.FormatInt(reports[0].ID, 10) + "."
	reply.Rows.Columns = bot.Columns("report", "pest", "sure", "seen", "may spread until")
	for _, r := range reports {
		pest, _ := health.PestOf(r.Pest)
		reply.Rows.Add(bot.Whole(int(r.ID)), bot.Text(r.PestName()), bot.Text(r.Sure.Words()), bot.Day(r.Seen), bot.Day(pest.HeldUntil(r.Seen)))
	}
	for i, r := range reports {
		if i == 3 {
			break
		}
		number := strconv.FormatInt(r.ID, 10)
		reply.Next = append(reply.Next, bot.Next{Label: "Trace " + number + ", " + r.PestName(), Request: bot.Typed("/health trace", "report", number)})
	}
	return reply, nil
}

func (c counter) traceReport(ctx context.Context, in *bot.In, seat register.Seat, reports []register.Report, number int64) (bot.Reply, error) {
	rep, err := c.reg.Report(ctx, seat.Coop.ID, number)
	if err != nil {
		return bot.Reply{}, err
	}
	if rep.Undone {
		return bot.Reply{}, fault.New(fault.Taken, "Report %d was taken back: nothing has to be looked at because of it. /health trace lists those that stand.", number)
	}
	all := rep.Member == seat.Member.ID || seat.Member.Steward
	whose := seat.Member.ID
	if all {
		whose = 0
	}
	trail, err := c.reg.Trace(ctx, rep.ID, whose)
	if err != nil {
		return bot.Reply{}, err
	}
	known := slices.ContainsFunc(reports, func(r register.Report) bool { return r.ID == rep.ID })
	if !all && !known && len(trail.Suspects) == 0 {
		return bot.Reply{}, fault.New(fault.Barred, "Report %d does not concern plants of yours. Its member or a steward may look into it; /coop show names the stewards.", number)
	}
	if !all {
		if err := c.reg.Learnt(ctx, register.Actor{Member: seat.Member.ID, At: in.At}, rep.ID); err != nil {
			return bot.Reply{}, err
		}
	}
	reply := traceReply(seat, trail, all)
	if rep.Member == seat.Member.ID {
		photos, err := c.reg.ReportPhotos(ctx, rep.ID)
		if err != nil {
			return bot.Reply{}, err
		}
		for i, p := range photos {
			reply.Files = append(reply.Files, bot.File{Name: fmt.Sprintf("report-%d-%d.jpg", rep.ID, i+1), Type: "image/jpeg",
				Alt: fmt.Sprintf("photo %d of the report, %d × %d", i+1, p.Width, p.Height), Data: p.Data})
		}
	}
	return reply, nil
}

// traceReply lists who should look at what, in order of risk; other members are named to those alone who may know all.
func traceReply(seat register.Seat, trail register.Trail, all bool) bot.Reply {
	rep := trail.Report
	pest, _ := health.PestOf(rep.Pest)
	reply := bot.Reply{Title: fmt.Sprintf("Trace of report %d: %s", rep.ID, rep.PestName()), Private: true}
	var text prose
	for _, caution := range pest.Heeded(seat.Country()) {
		text.add("%s", caution)
	}
	where := "on plants of another member"
	switch {
	case rep.Member == seat.Member.ID:
		where = "on your " + some(marksOf(rep.Batches), 3)
	case all && rep.Member != 0:
		where = "on " + some(marksOf(rep.Batches), 3) + " of " + rep.Owner
	}
	text.add("%s %s, %s, %s. It may have been there from %s on, and may show elsewhere until %s (%s).", upper(rep.PestName()), where, rep.Sure.Words(), rep.Seen.Long(),
		rep.Since.Long(), rep.Seen.Add(pest.Hidden.Forward).Long(), pest.Hidden.Source)
	if rep.Over {
		text.add("All that it held back was cleared since.")
	}
	switch {
	case len(trail.Suspects) == 0:
		text.add("No plants in the register share it by lineage, handovers or the place where they stood.")
	case all:
		text.add("%s to look at, in order of risk. What parted before the pest could have been there is left out.", plural(len(trail.Suspects), "batch", "batches"))
	default:
		text.add("Look at these plants of yours, in order of risk. What parted before the pest could have been there is left out.")
	}
	if trail.Gone > 0 {
		text.add("On the way %s no plants any more.", plural(trail.Gone, "batch has", "batches have"))
	}
	reply.Text = text.String()
	if len(trail.Suspects) == 0 {
		return reply
	}
	reply.Rows.Columns = bot.Columns("risk", "batch", "variety", "may have", "path")
	if all {
		reply.Rows.Columns = bot.Columns("risk", "batch", "variety", "who", "may have", "path")
	}
	for i, s := range trail.Suspects {
		cells := []bot.Cell{bot.Text(riskWords(i+1, s)), bot.Text(s.Plants.Mark), bot.Text(s.Plants.Name)}
		if all {
			cells = append(cells, bot.Text(s.Plants.Owner))
		}
		reply.Rows.Add(append(cells, bot.Text(sideWords(s)), bot.Text(s.Words(seat.Member.ID, all)))...)
	}
	if slices.ContainsFunc(trail.Suspects, func(s register.Suspect) bool { return s.Plants.Member == seat.Member.ID }) {
		reply.Next = []bot.Next{{Label: "I looked: record it", Request: "/job done look"}}
	}
	return reply
}

func riskWords(place int, s register.Suspect) string {
	if s.Likely {
		return strconv.Itoa(place) + ", likely"
	}
	return strconv.Itoa(place) + ", possible"
}

// sideWords tells whether plants may have given the pest or got it, and by when.
func sideWords(s register.Suspect) string {
	if s.Side == health.Source {
		return "passed it on by " + s.Day.Long()
	}
	return "got it from " + s.Day.Long() + " on"
}
