package requests

import (
	"context"
	"slices"
	"strconv"

	"shortday/bot"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/listing"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// kindOfPlant is how a variety's column may be called.
func kindOfPlant() listing.Column {
	return listing.Column{Name: "variety", Others: []string{"cultivar", "variety name", "name", "sort", "chrysanthemum"}}
}

// targetLines are targets, a line each.
func (c counter) targetLines() listKind {
	return listKind{
		one: "target", many: "targets", path: "/target set", of: target(c),
		columns: []listing.Column{kindOfPlant(), {Name: "bloom", Others: []string{"bloom day", "bloom date", "wanted", "for"}},
			{Name: "until", Others: []string{"last day"}}, {Name: "stems", Others: []string{"number of stems", "how many"}}, {Name: "way", Others: []string{"how"}}},
		tells: []string{"variety", "bloom", "stems"},
		back:  "Every date and job that leads to them follows. /target drop gives one up again.",
		then:  bot.Next{Label: "When each is expected to bloom", Request: "/target list"},
		ready: c.targetsReady,
	}
}

func (c counter) targetsReady(ctx context.Context, in *bot.In, own register.Member) (map[string]bool, lookAt, error) {
	seat := c.seat(ctx, in)
	plans, err := c.reg.Plans(ctx, own.ID, 0)
	known := map[string]bool{}
	for _, p := range plans {
		known[variety.Fold(targetName(p))] = true
	}
	return known, func(ctx context.Context, in *bot.In) (lineOf, error) {
		wanted, stems := wantedBloom(in), in.Whole("stems")
		v := c.variety(ctx, in, seat.Coop.ID, own, "variety")
		if in.Err() != nil {
			return lineOf{}, nil
		}
		p := register.Plan{Name: v.Name, Wanted: wanted, Stems: stems}
		l := lineOf{key: variety.Fold(targetName(p)), what: targetTitle(p), past: wanted.From <= in.Today()}
		if l.past {
			return l, nil
		}
		rests, err := c.reg.Case(ctx, own.ID, v.ID, wanted, in.Today())
		if err != nil {
			return l, err
		}
		switch plan := crop.Backwards(rests, in.Today()); {
		case plan.Refusal != nil:
			return l, fault.New(fault.Unclear, "%s: %s", l.what, plan.Refusal.Why)
		case plan.Missed != "":
			return l, fault.New(fault.Unclear, "%s: %s", l.what, plan.Missed)
		}
		return l, nil
	}, err
}

// targetFiles writes a member's targets as a list that can be brought back, and every date that follows from them.
func (c counter) targetFiles(ctx context.Context, in *bot.In, own register.Member, pinch bool) ([]bot.File, error) {
	targets, err := c.reg.Targets(ctx, own.ID, 0)
	if err != nil {
		return nil, err
	}
	dates, err := c.reg.Dates(ctx, own.ID)
	if err != nil {
		return nil, err
	}
	var rows [][]string
	for _, p := range targets {
		until, state := "", "running"
		if p.Wanted.To > p.Wanted.From {
			until = p.Wanted.To.String()
		}
		if p.Ending != register.Running {
			state = endedState(p)
		}
		rows = append(rows, []string{p.Name, p.Wanted.From.String(), until, unlessZero(p.Stems), string(p.Wanted.Way), p.Bloom.Earliest.String(),
			p.Bloom.Likely.String(), p.Bloom.Latest.String(), p.Bloomed.String(), state})
	}
	files := csvOf(nil, "targets.csv", "the targets as a list that a spreadsheet opens",
		[]string{"variety", "bloom", "until", "stems", "way", "earliest", "likely", "latest", "bloomed", "state"}, rows)
	rows = nil
	for _, j := range dates {
		name := ""
		if i := slices.IndexFunc(targets, func(p register.Plan) bool { return p.ID == j.Plan }); i >= 0 {
			name = targetName(targets[i])
		}
		rows = append(rows, []string{j.Name, name, j.Kind.Name(pinch), j.Window.Earliest.String(), j.Window.Likely.String(), j.Window.Latest.String(),
			j.Due.String(), string(j.State), j.Rule, j.Source})
	}
	var head []string
	for _, column := range datesColumns() {
		head = append(head, column.Name)
	}
	return csvOf(files, "dates.csv", "every step with its days and what became of it, to look at", head, rows), in.Err()
}

// datesColumns are those of the dates, which are written and never read back: they follow from the targets.
func datesColumns() []listing.Column {
	return []listing.Column{{Name: "variety"}, {Name: "target"}, {Name: "job"}, {Name: "earliest"}, {Name: "likely"}, {Name: "latest"}, {Name: "due"},
		{Name: "state"}, {Name: "rule"}, {Name: "source"}}
}

// csvOf adds a list to the files, where there is anything in it.
func csvOf(files []bot.File, name, alt string, head []string, rows [][]string) []bot.File {
	if len(rows) == 0 {
		return files
	}
	return append(files, bot.File{Name: name, Type: "text/csv", Alt: alt, Data: listing.Write(head, rows)})
}

// unlessZero writes a number, and nothing for none.
func unlessZero(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
