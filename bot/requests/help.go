package requests

import (
	"context"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/fault"
)

// help makes /help of the other families and of itself.
func help(families []bot.Family) bot.Family {
	h := &helper{}
	self := bot.Family{Name: "help", Help: "What can be asked, and how", Requests: []bot.Request{{
		Help:     "What can be asked, and how",
		Examples: []string{"/help", "/help stock", "/help stock add"},
		Fields: []bot.Field{
			{Name: "about", Help: "a family or a request, such as stock or stock add", Kind: bot.NamedKind, Bare: true, Complete: h.complete},
		},
		Handle: h.handle,
	}}}
	h.families = append(slices.Clone(families), self)
	return self
}

type helper struct{ families []bot.Family }

func (h *helper) complete(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	var names []string
	for _, f := range h.families {
		names = append(names, f.Name)
		for _, r := range f.Requests {
			if r.Name != "" {
				names = append(names, f.Name+" "+r.Name)
			}
		}
	}
	return bot.Matching(bot.Choices(names...), strings.TrimPrefix(typed, "/")), nil
}

func (h *helper) handle(_ context.Context, in *bot.In) (bot.Reply, error) {
	about := strings.Fields(strings.ToLower(strings.TrimPrefix(in.Text("about"), "/")))
	if len(about) == 0 {
		return h.overview(), nil
	}
	for _, f := range h.families {
		if f.Name != about[0] {
			continue
		}
		if len(about) == 1 && f.Requests[0].Name != "" {
			return family(f), nil
		}
		for _, r := range f.Requests {
			if r.Name == strings.Join(about[1:], " ") {
				return request(f, r), nil
			}
		}
	}
	return bot.Reply{}, fault.New(fault.Missing, "There is no help on %q. /help lists all that can be asked.", in.Text("about"))
}

func (h *helper) overview() bot.Reply {
	rows := bot.Table{Columns: bot.Columns("family", "requests", "what")}
	for _, f := range h.families {
		var names []string
		for _, r := range f.Requests {
			names = append(names, r.Name)
		}
		rows.Add(bot.Text("/"+f.Name), bot.Text(strings.Join(names, " ")), bot.Text(f.Help))
	}
	return bot.Reply{
		Title: "What can be asked",
		Text:  "Ask as in /family request field:value. Days can be typed as 2027-11-05, 5 nov, friday or in 3 weeks. /help stock tells more of a family.",
		Rows:  rows,
	}
}

func family(f bot.Family) bot.Reply {
	reply := bot.Reply{Title: "/" + f.Name, Text: f.Help + ".", Rows: bot.Table{Columns: bot.Columns("request", "what")}}
	for _, r := range f.Requests {
		reply.Rows.Add(bot.Text(f.Path(r)), bot.Text(r.Help))
		reply.Next = append(reply.Next, bot.Next{Label: f.Path(r), Request: bot.Typed("/help", "about", f.Name+" "+r.Name)})
	}
	return reply
}

func request(f bot.Family, r bot.Request) bot.Reply {
	text := []string{r.Help + ".", "For example: " + strings.Join(r.Examples, "\nor: ")}
	if r.Right == bot.Steward {
		text[0] += " Only a steward may ask this."
	}
	rows := bot.Table{Columns: bot.Columns("field", "needed", "what")}
	for _, field := range r.Fields {
		what := field.Help
		if len(field.Choices) > 0 {
			var values []string
			for _, c := range field.Choices {
				values = append(values, c.Value)
			}
			what += ": " + strings.Join(values, ", ")
		}
		rows.Add(bot.Text(field.Name), bot.Yes(field.Required), bot.Text(what))
	}
	return bot.Reply{Title: f.Path(r), Text: strings.Join(text, "\n\n"), Rows: rows}
}
