package requests

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// offeredJobs is of how many due jobs done, later and skip are offered with the list.
const offeredJobs = 3

// dueJobs lists what a member has to do, overdue first, then care; or in short what the whole co-op has.
func (c counter) dueJobs(ctx context.Context, in *bot.In) (bot.Reply, error) {
	until := in.Day("until")
	all := in.Yes("all")
	seat := c.seat(ctx, in)
	_, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if until.IsZero() {
		until = in.Today().Add(7)
	}
	if until < in.Today() {
		return bot.Reply{}, fault.New(fault.Unclear, "%s is past. Give the last day to show, today or later.", until.Long())
	}
	if all {
		return c.coopJobs(ctx, in, seat, until)
	}
	jobs, err := c.reg.Due(ctx, own.ID, until)
	if err != nil {
		return bot.Reply{}, err
	}
	recurring, err := c.reg.Care(ctx, own.ID, in.Today(), calendar.DayOf(9999, 12, 31))
	if err != nil {
		return bot.Reply{}, err
	}
	care := slices.DeleteFunc(slices.Clone(recurring), func(j register.CareJob) bool { return j.Next > until })
	d := due{in: in, pinch: pinch(seat), plans: map[int64]register.Plan{}}
	if len(jobs) > 0 {
		if d.live, err = c.reg.Batches(ctx, own.ID, 0); err != nil {
			return bot.Reply{}, err
		}
		plans, err := c.reg.Plans(ctx, own.ID, 0)
		if err != nil {
			return bot.Reply{}, err
		}
		for _, p := range plans {
			d.plans[p.ID] = p
		}
		if d.bare(jobs) {
			if d.bearings, err = c.reg.Bearings(ctx, seat.Coop.ID, own.ID, in.Today()); err != nil {
				return bot.Reply{}, err
			}
		}
	}
	reply := d.reply(jobs, care)
	reply.Title = titleOf(seat, own) + "Jobs until " + until.Long()
	if len(jobs)+len(care) == 0 {
		return c.nothingDue(ctx, in, seat, own, recurring, reply)
	}
	return reply, nil
}

// nothingDue names the next job instead, or the care that comes before it; care is by day.
func (c counter) nothingDue(ctx context.Context, in *bot.In, seat register.Seat, own register.Member, care []register.CareJob, reply bot.Reply) (bot.Reply, error) {
	next, err := c.reg.Upcoming(ctx, own.ID, in.Today(), 1)
	if err != nil {
		return bot.Reply{}, err
	}
	var what string
	var on calendar.Day
	if len(next) > 0 {
		what, on = next[0].Kind.Name(pinch(seat))+" "+next[0].Name, next[0].Due
	}
	if len(care) > 0 && (on.IsZero() || care[0].Next < on) {
		what, on = care[0].Kind.Name(pinch(seat))+" "+some(varietiesOf(care[0].Batches), 3), care[0].Next
	}
	if on.IsZero() {
		reply.Text = "Nothing is due. /target set aims at a bloom, and /stock add enters plants; either brings its jobs."
		return reply, nil
	}
	reply.Text = fmt.Sprintf("Nothing is due. Next: %s, %s.", what, on.Long())
	reply.Next = []bot.Next{{Label: "Show until then", Request: bot.Typed("/job due", "until", on.String(), "for", in.Text("for"))}}
	return reply, nil
}

// due is a list of jobs in the making.
type due struct {
	in    *bot.In
	pinch bool
	live  []register.Batch
	plans map[int64]register.Plan
	// bearings are those of the member's targets where one of them may have no plants left.
	bearings map[int64]register.Bearing
}

// bare reports whether a job is of a variety of which the member has nothing.
func (d due) bare(jobs []register.Job) bool {
	return slices.ContainsFunc(jobs, func(j register.Job) bool {
		return !slices.ContainsFunc(d.live, func(b register.Batch) bool { return b.Variety == j.Variety })
	})
}

// goneWords tells of which targets no plants are left.
func (d due) goneWords(jobs []register.Job) string {
	var names []string
	for _, j := range jobs {
		if name := targetName(d.plans[j.Plan]); d.bearings[j.Plan].Gone && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("No plants are left for %s, and the jobs stand still: /swap want asks the co-op for some, /target drop ends the jobs.", some(names, 4))
}

func (d due) reply(jobs []register.Job, care []register.CareJob) bot.Reply {
	reply := bot.Reply{Private: true, Rows: bot.Table{Columns: bot.Columns("due", "job", "variety", "plants", "window")}}
	overdue := 0
	jobs, waits := waiting(jobs, d.in.Today())
	offered := map[int64]bool{} // a plan's first job alone: the others wait for it
	for _, j := range jobs {
		if j.Due < d.in.Today() {
			overdue++
		}
		reply.Rows.Add(bot.Day(j.Due), bot.Text(d.name(j.Kind)), bot.Text(j.Name), d.plants(j), bot.Text(span(j.Window)))
		if len(offered) < offeredJobs && !offered[j.Plan] {
			offered[j.Plan] = true
			reply.Next = append(reply.Next, d.offer(j)...)
		}
	}
	done := map[crop.Kind]bool{}
	for _, j := range care {
		if !done[j.Kind] {
			done[j.Kind] = true
			reply.Next = append(reply.Next, bot.Next{Label: "Done: " + j.Kind.Name(d.pinch) + ", for all that need it", Request: bot.Typed("/job done", "job", j.Kind.Name(false), "for", d.in.Text("for"))})
		}
		on := max(j.Next, d.in.Today())
		reply.Rows.Add(bot.Day(on), bot.Text(j.Kind.Name(d.pinch)+", "+string(j.Stage)), bot.Text(some(varietiesOf(j.Batches), 3)), sum(j.Batches), bot.Text(every(j.Every(on))))
	}
	var text prose
	if overdue > 0 {
		text.add("%s overdue.", plural(overdue, "job is", "jobs are"))
	}
	text.add("%s", d.goneWords(jobs))
	for _, j := range jobs {
		if n := waits[j]; n > 0 {
			text.add("%s %s first: %s for it.", upper(j.Kind.Name(d.pinch)), d.called(j), plural(n, "more job waits", "more jobs wait"))
		}
	}
	text.add("%s", strings.Join(d.lastDays(jobs), "\n"))
	reply.Text = text.String()
	return reply
}

// name gives a job in short, with the part of the day where that is not the morning.
func (d due) name(k crop.Kind) string {
	if k.Hour() == crop.Evening {
		return k.Name(d.pinch) + ", evening"
	}
	return k.Name(d.pinch)
}

// called gives what a job is of: its variety, or its target where the member has several of the variety.
func (d due) called(j register.Job) string {
	for _, p := range d.plans {
		if p.Variety == j.Variety && p.ID != j.Plan {
			return targetName(d.plans[j.Plan])
		}
	}
	return j.Name
}

// lastDays warns, once a plan, of the last safe day of a week ahead, else of the one that passed last.
func (d due) lastDays(jobs []register.Job) []string {
	var order []int64
	worst := map[int64]register.Job{}
	for _, j := range jobs {
		if j.LastSafe.IsZero() || j.LastSafe > d.in.Today().Add(7) {
			continue
		}
		was, ok := worst[j.Plan]
		if !ok {
			order = append(order, j.Plan)
		}
		if !ok || was.LastSafe < d.in.Today() && j.LastSafe > was.LastSafe {
			worst[j.Plan] = j
		}
	}
	var told []string
	for _, plan := range order {
		told = append(told, d.lastDay(worst[plan]))
	}
	return told
}

func (d due) lastDay(j register.Job) string {
	name := upper(j.Kind.Name(d.pinch)) + " " + d.called(j)
	if j.LastSafe < d.in.Today() {
		return fmt.Sprintf("%s: the last safe day was %s, and now %s.", name, j.LastSafe.Long(), j.Lost)
	}
	return fmt.Sprintf("%s: the last safe day is %s; after it %s.", name, j.LastSafe.Long(), j.Lost)
}

func (d due) offer(j register.Job) []bot.Next {
	name, member := jobName(j.Kind, d.plans[j.Plan]), d.in.Text("for")
	label := j.Kind.Name(d.pinch) + " " + d.called(j)
	return []bot.Next{
		{Label: "Done: " + label, Request: bot.Typed("/job done", "job", name, "for", member)},
		{Label: "In 3 days: " + label, Request: bot.Typed("/job later", "job", name, "to", "in 3 days", "for", member)},
		{Label: "Skip: " + label, Request: bot.Typed("/job skip", "job", name, "for", member)},
	}
}

// plants counts the live plants that a job concerns, none where the register has no such plants. Stools woken for another
// target give cuttings too where there are no others.
func (d due) plants(j register.Job) bot.Cell {
	p := d.plans[j.Plan]
	var concerned, woken []register.Batch
	for _, b := range d.live {
		switch {
		case b.Variety != j.Variety || !slices.Contains(stagesFor(j.Kind), b.Stage):
		case b.Plan == 0 || b.Plan == p.ID:
			concerned = append(concerned, b)
		case b.Stage == crop.Woken:
			woken = append(woken, b)
		}
	}
	if len(concerned) == 0 {
		concerned = woken
	}
	return sum(concerned)
}

func sum(batches []register.Batch) bot.Cell {
	n := 0
	for _, b := range batches {
		n += b.Count
	}
	if n == 0 {
		return bot.Cell{}
	}
	return bot.Whole(n)
}

// stagesFor gives the stages at which plants are when a step is due.
func stagesFor(k crop.Kind) []crop.Stage {
	switch k {
	case crop.WakeWater, crop.Wake:
		return []crop.Stage{crop.Boxed}
	case crop.CutWater, crop.Cut:
		return []crop.Stage{crop.Woken}
	case crop.Strike:
		return []crop.Stage{crop.Taken}
	case crop.Pot:
		return []crop.Stage{crop.Struck}
	case crop.PotOn, crop.HardenOff, crop.RepotWater, crop.FinalPot, crop.PlantOut:
		return []crop.Stage{crop.Potted}
	}
	return []crop.Stage{crop.Potted, crop.Planted, crop.Housed}
}

func span(w calendar.Window) string {
	if w.Known() {
		return w.Likely.Annual().String()
	}
	return w.Earliest.Annual().String() + " – " + w.Latest.Annual().String()
}

func every(days int) string {
	if days == 1 {
		return "daily"
	}
	return fmt.Sprintf("every %d days", days)
}

func varietiesOf(batches []register.Batch) []string {
	var names []string
	for _, b := range batches {
		if !slices.Contains(names, b.Name) {
			names = append(names, b.Name)
		}
	}
	return names
}

// coopJobs tells in short what a whole co-op has to do: how much of what, and for whom.
func (c counter) coopJobs(ctx context.Context, in *bot.In, seat register.Seat, until calendar.Day) (bot.Reply, error) {
	jobs, err := c.reg.CoopJobs(ctx, seat.Coop.ID, 0, until)
	if err != nil {
		return bot.Reply{}, err
	}
	word := pinch(seat)
	type group struct {
		kind    crop.Kind
		name    string
		first   calendar.Day
		members []string
	}
	var groups []group
	var counts []string
	perKind, members, overdue := map[crop.Kind]int{}, map[int64]bool{}, 0
	for _, j := range jobs { // by day
		perKind[j.Kind]++
		members[j.Member] = true
		if j.Due < in.Today() {
			overdue++
		}
		i := slices.IndexFunc(groups, func(g group) bool { return g.kind == j.Kind && g.name == j.Name })
		if i < 0 {
			i, groups = len(groups), append(groups, group{kind: j.Kind, name: j.Name, first: j.Due})
		}
		if !slices.Contains(groups[i].members, j.Owner) {
			groups[i].members = append(groups[i].members, j.Owner)
		}
	}
	for _, k := range crop.Kinds() {
		if n := perKind[k]; n > 0 {
			counts = append(counts, fmt.Sprintf("%d × %s", n, k.Name(word)))
		}
	}
	reply := bot.Reply{Title: "Jobs of " + seat.Coop.Name + " until " + until.Long(), Text: "Nothing is due in the co-op."}
	if len(jobs) > 0 {
		reply.Text = fmt.Sprintf("%s of %s, %d overdue: %s.", plural(len(jobs), "job", "jobs"), plural(len(members), "member", "members"), overdue, listed(counts))
		reply.Rows.Columns = bot.Columns("due", "job", "variety", "members")
	}
	for _, g := range groups {
		reply.Rows.Add(bot.Day(g.first), bot.Text(g.kind.Name(word)), bot.Text(g.name), bot.Text(some(g.members, 4)))
	}
	return reply, nil
}
