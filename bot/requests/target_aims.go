package requests

import (
	"context"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// aim is one target of a spread as it is written in a field: "2027-11-05 40 Saltmarsh", and with whose it is after it where
// the spread is the co-op's: "2027-11-05 40 Saltmarsh for Oona".
type aim struct {
	on    calendar.Day
	stems int
	what  string
}

func (a aim) String() string { return fmt.Sprintf("%s %d %s", a.on, a.stems, a.what) }

// aims writes the targets of a proposal.
func (p proposal) aims(coop bool) string {
	var all []string
	for _, g := range p.plantings() {
		what := g.variety.Name
		if coop {
			what += whoseTarget + g.member.Name
		}
		all = append(all, aim{g.growing.aim, g.stems, what}.String())
	}
	return strings.Join(all, "; ")
}

const (
	whoseTarget = " for "
	mostAims    = 100 // targets that are set at once
)

// nextAim is where one target ends and the next begins; a name may have a semicolon of its own.
var nextAim = regexp.MustCompile(`;\s*(\d{4}-\d\d-\d\d \d+ )`)

// readAims reads targets as aims writes them.
func readAims(text string) (all []aim, err error) {
	for part := range strings.SplitSeq(nextAim.ReplaceAllString(text, "\n$1"), "\n") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		a, ok := readAim(part)
		if !ok {
			return nil, fault.New(fault.Unclear, "%q is no target of a spread. Write each as in \"2027-11-05 40 Saltmarsh\", with semicolons between them.", part)
		}
		all = append(all, a)
	}
	if len(all) == 0 || len(all) > mostAims {
		return nil, fault.New(fault.Unclear, "%d targets cannot be set at once; give 1 to %d.", len(all), mostAims)
	}
	return all, nil
}

func readAim(part string) (a aim, ok bool) {
	on, rest, _ := strings.Cut(part, " ")
	stems, what, _ := strings.Cut(rest, " ")
	var errDay, errStems error
	a.on, errDay = calendar.ParseDay(on)
	a.stems, errStems = strconv.Atoi(stems)
	a.what = strings.TrimSpace(what)
	return a, errDay == nil && errStems == nil && a.what != "" && a.stems > 0 && a.stems <= 1_000_000
}

// meant gives the variety of a target and whose it is. Where the spread is the co-op's, the member stands last; of names
// that have a "for" of their own the one counts that is a member's.
func (c counter) meant(ctx context.Context, seat register.Seat, own register.Member, a aim, coop bool) (v register.Variety, whose register.Member, err error) {
	what, whose := a.what, own
	for end := len(what); coop; {
		at := strings.LastIndex(what[:end], whoseTarget)
		if at < 0 {
			return v, whose, fault.New(fault.Unclear, "Whose target is %q? Write it as in \"2027-11-05 40 Saltmarsh for Oona\".", a)
		}
		if whose, err = c.reg.MemberNamed(ctx, seat.Coop.ID, what[at+len(whoseTarget):]); err == nil {
			what = what[:at]
			break
		} else if fault.KindOf(err) == fault.Internal {
			return v, whose, err
		}
		end = at
	}
	v, err = c.reg.VarietyNamed(ctx, seat.Coop.ID, what)
	return v, whose, err
}

// setSpread sets the targets of a proposal, all or none.
func (c counter) setSpread(ctx context.Context, in *bot.In, seat register.Seat, actor register.Actor, own register.Member) (bot.Reply, error) {
	all := bot.Take(in, "targets", readAims)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: titleOf(seat, own) + "Set: " + plural(len(all), "target", "targets"), Private: true,
		Text: "Every date and job that leads to them follows. /target drop gives one up again.",
		Rows: bot.Table{Columns: bot.Columns("target", "stems", "earliest", "likely", "latest")}}
	for _, a := range all {
		v, whose, err := c.meant(ctx, seat, own, a, in.Yes("coop"))
		if err != nil {
			return bot.Reply{}, err
		}
		by := actor
		if whose.ID != own.ID {
			by.For = whose.ID
		}
		out, err := c.reg.SetTarget(ctx, by, v.ID, crop.Target{From: a.on}, a.stems)
		if err != nil {
			return bot.Reply{}, err
		}
		w := out.Plan.Bloom
		reply.Rows.Add(bot.Text(titleOf(seat, whose)+targetName(out.Plan)), bot.Whole(a.stems), bot.Day(w.Earliest), bot.Day(w.Likely), bot.Day(w.Latest))
	}
	reply.Next = []bot.Next{{Label: "Your targets", Request: bot.Typed("/target list", "for", in.Text("for"))}, {Label: "The co-op's supply", Request: "/coop supply"}}
	return reply, nil
}
