package requests

import (
	"cmp"
	"context"
	"slices"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// notHere refuses a target that cannot be met, and offers the nearest day that can, and varieties that would do.
func (c counter) notHere(ctx context.Context, in *bot.In, own register.Member, v register.Variety, wanted crop.Target, plan crop.Plan) (bot.Reply, error) {
	var text prose
	reply := bot.Reply{Private: true}
	again := func(name string, w crop.Target) string {
		until := ""
		if w.To > w.From {
			until = w.To.String()
		}
		return bot.Typed("/target set", "variety", name, "bloom", w.From.String(), "until", until, "stems", in.Text("stems"), "way", string(w.Way), "for", in.Text("for"))
	}
	near, err := c.nearestAhead(ctx, in, own, v, wanted)
	if err != nil {
		return bot.Reply{}, err
	}
	if plan.Missed != "" {
		if err := c.askStopped(ctx, in, own, v, &text, &reply); err != nil {
			return bot.Reply{}, err
		}
	}
	if !near.From.IsZero() {
		text.add("The nearest day that works with %s is %s.", v.Name, near.From.Long())
		reply.Next = append(reply.Next, bot.Next{Label: v.Name + " on " + near.From.Long(), Request: again(v.Name, near)})
	}
	others, err := c.wouldDo(ctx, in, own, v, wanted)
	if err != nil {
		return bot.Reply{}, err
	}
	if len(others) > 0 {
		text.add("These varieties of the co-op would do:")
		reply.Rows.Columns = bot.Columns("variety", "earliest", "likely", "latest", "basis")
	}
	for _, o := range others {
		w := o.bloom.Window
		reply.Rows.Add(bot.Text(o.name), bot.Day(w.Earliest), bot.Day(w.Likely), bot.Day(w.Latest), bot.Text(string(o.bloom.Basis)))
		reply.Next = append(reply.Next, bot.Next{Label: o.name + " on " + wanted.From.Long(), Request: again(o.name, wanted)})
	}
	told := "Nothing was set for " + wanted.From.Long()
	if wanted.To > wanted.From {
		told += " to " + wanted.To.Long()
	}
	told += "."
	if len(reply.Next) == 0 {
		told += " Ask for another day."
	}
	why := plan.Missed
	if plan.Refusal != nil {
		why = plan.Refusal.Why
	}
	reply.Refusal = &bot.Refusal{Kind: fault.Taken, Text: why + " " + told}
	reply.Text = text.String()
	return reply, nil
}

// askStopped asks of young plants that stand whether they were stopped already, which is then to be recorded first.
func (c counter) askStopped(ctx context.Context, in *bot.In, own register.Member, v register.Variety, text *prose, reply *bot.Reply) error {
	batches, err := c.reg.Batches(ctx, own.ID, v.ID)
	if err != nil || !slices.ContainsFunc(batches, func(b register.Batch) bool { return slices.Contains(stagesFor(crop.Stop), b.Stage) }) {
		return err
	}
	text.add("Were your plants of %s stopped already? Record that first, with the day, and set the target again.", v.Name)
	reply.Next = append(reply.Next, bot.Next{Label: "They were stopped", Request: bot.Typed("/job done", "step", crop.Stop.Name(false), "variety", v.Name, "on", bot.AskDay, "for", in.Text("for"))})
	return nil
}

// laterSeasons is how far beyond the days wanted a later season is looked for, in days.
const laterSeasons = 2*365 + crop.NearestReach

// nearestAhead gives the nearest days that work and are still to come: of the season wanted, else the first of a later one.
func (c counter) nearestAhead(ctx context.Context, in *bot.In, own register.Member, v register.Variety, wanted crop.Target) (crop.Target, error) {
	rests, err := c.reg.Case(ctx, own.ID, v.ID, wanted, in.Today())
	if err != nil {
		return crop.Target{}, err
	}
	if near, ok := crop.Nearest(rests, in.Today()); ok {
		return near, nil
	}
	for off := crop.NearestReach; off < laterSeasons; off += crop.NearestReach {
		later := crop.Target{From: wanted.From.Add(off), To: wanted.To.Add(off), Way: wanted.Way}
		if rests, err = c.reg.Case(ctx, own.ID, v.ID, later, in.Today()); err != nil {
			return crop.Target{}, err
		}
		if first, ok := crop.First(rests, crop.NearestReach, in.Today()); ok {
			return first, nil
		}
	}
	return crop.Target{}, nil
}

// other is a variety that would meet a target, and how far its bloom lies from it.
type other struct {
	name  string
	bloom crop.Forecast
	off   int
}

// tried is how many of the co-op's varieties are tried for a target, so that an answer never takes long; offeredToo is
// how many of those that would do are offered.
const (
	tried      = 200
	offeredToo = 5
)

// wouldDo gives the co-op's other varieties with which the target can still be met, the nearest and surest first.
// A variety of which nothing is known is none.
func (c counter) wouldDo(ctx context.Context, in *bot.In, own register.Member, v register.Variety, wanted crop.Target) ([]other, error) {
	all, err := c.reg.Varieties(ctx, v.Coop)
	if err != nil {
		return nil, err
	}
	var found []other
	for _, o := range all[:min(len(all), tried)] {
		if o.ID == v.ID {
			continue
		}
		rests, err := c.reg.Case(ctx, own.ID, o.ID, wanted, in.Today())
		if err != nil {
			return nil, err
		}
		plan := crop.Backwards(rests, in.Today())
		if plan.Refusal == nil && plan.Missed == "" && plan.Bloom.Basis != crop.Nothing {
			found = append(found, other{o.Name, plan.Bloom, outside(plan.Bloom.Window.Likely, wanted)})
		}
	}
	slices.SortStableFunc(found, func(a, b other) int {
		return cmp.Or(cmp.Compare(a.off, b.off), cmp.Compare(width(a.bloom.Window), width(b.bloom.Window)))
	})
	return found[:min(len(found), offeredToo)], nil
}

// outside gives by how many days a bloom misses the days wanted.
func outside(bloom calendar.Day, wanted crop.Target) int {
	return max(0, wanted.From.Sub(bloom), bloom.Sub(wanted.To))
}

func width(w calendar.Window) int { return w.Latest.Sub(w.Earliest) }
