package discord_test

import (
	"context"
	"fmt"
	"strings"
	"time"

	"shortday/bot"
	"shortday/knowledge/fault"
)

// shed is a family that shows what an adapter has to carry.
func shed() []bot.Family {
	wide := bot.Table{Columns: bot.Columns("variety", "place", "what is due there", "until")}
	narrow := bot.Table{Columns: bot.Columns("tool", "count")}
	for n := range 300 {
		narrow.Add(bot.Text(fmt.Sprintf("rake %d", n)), bot.Whole(n))
	}
	sums := bot.Table{Columns: bot.Columns("name", "off")}
	for _, name := range []string{"=1+1", " -2", "＝HYPERLINK(A1)", "rake = 1"} {
		sums.Add(bot.Text(name), bot.Whole(-3))
	}
	wide.Add(bot.Text("Gilt *Edge*"), bot.Text("the long glasshouse"), bot.Text("take the tip out of each"), bot.Cell{})
	says := func(r bot.Reply) func(context.Context, *bot.In) (bot.Reply, error) {
		return func(context.Context, *bot.In) (bot.Reply, error) { return r, nil }
	}
	return []bot.Family{
		{Name: "shed", Help: "What stands in the shed", Requests: []bot.Request{
			{Name: "add", Help: "Put tools in the shed", Examples: []string{"/shed add tool:rake count:2"}, Fields: []bot.Field{
				{Name: "tool", Help: "what it is called", Kind: bot.NamedKind, Required: true, Complete: tools},
				{Name: "count", Help: "how many", Kind: bot.WholeKind, Required: true, Min: new(1.0), Max: new(99.0)},
				{Name: "sharp", Help: "whether it cuts", Kind: bot.YesKind},
				{Name: "wood", Help: "what the handle is of", Kind: bot.ChoiceKind, Choices: bot.Choices("ash", "beech")},
				{Name: "bought", Help: "the day it was bought", Kind: bot.DayKind},
				{Name: "story", Help: "where it came from", Kind: bot.LongTextKind},
			}, Handle: add},
			{Name: "lend", Help: "Lend a tool", Examples: []string{"/shed lend to:Tam"}, Fields: []bot.Field{
				{Name: "to", Help: "who takes it", Kind: bot.MemberKind, Required: true},
				{Name: "by", Help: "where it is handed over", Kind: bot.ChannelKind},
				{Name: "quietly", Help: "so that nobody else hears of it", Kind: bot.YesKind},
			}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				return bot.Reply{Text: "lent to " + in.Text("to") + " " + in.Text("by"), Private: in.Yes("quietly")}, nil
			}},
			{Name: "paint", Help: "How the shed looks", Examples: []string{"/shed paint colour:green"}, Form: []string{"colour", "coats"}, Fields: []bot.Field{
				{Name: "colour", Help: "what it is painted", Kind: bot.TextKind, Required: true},
				{Name: "picture", Help: "what it looks like", Kind: bot.FileKind},
				{Name: "coats", Help: "how often", Kind: bot.WholeKind},
			}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				f, coats := in.File("picture"), in.Whole("coats")
				return bot.Reply{Text: fmt.Sprintf("%s %d %s %s %d", in.Text("colour"), coats, f.Name, f.Type, len(f.Data))}, nil
			}},
			{Name: "set", Help: "How the shed is kept", Examples: []string{"/shed set"}, Form: []string{"lock"}, Fields: []bot.Field{
				{Name: "lock", Help: "what locks it", Kind: bot.TextKind},
			}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				return bot.Reply{Text: "lock " + in.Text("lock")}, nil
			}},
			{Name: "wide", Help: "A wide table", Examples: []string{"/shed wide"}, Handle: says(bot.Reply{Title: "Wide", Rows: wide})},
			{Name: "narrow", Help: "A long table", Examples: []string{"/shed narrow"}, Handle: says(bot.Reply{Title: "Tools", Rows: narrow})},
			{Name: "book", Help: "A very long text", Examples: []string{"/shed book"}, Handle: says(bot.Reply{Title: "Book", Text: strings.Repeat("A line of it.\n\n", 2000), Rows: sums})},
			{Name: "secret", Help: "For the asker", Examples: []string{"/shed secret"}, Handle: says(bot.Reply{Text: "sh", Private: true})},
			{Name: "slow", Help: "Takes two seconds", Examples: []string{"/shed slow"}, Fields: []bot.Field{{Name: "private", Help: "for the asker alone", Kind: bot.YesKind}},
				Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
					time.Sleep(2 * time.Second)
					return bot.Reply{Text: "at last", Private: in.Yes("private")}, nil
				}},
			{Name: "sweep", Help: "Takes long, and tells how far it is", Examples: []string{"/shed sweep"},
				Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
					for i := range 24 {
						time.Sleep(100 * time.Millisecond)
						in.Progress(i+1, 24)
					}
					return bot.Reply{Title: "Swept", Private: true}, nil
				}},
			{Name: "chart", Help: "A picture", Examples: []string{"/shed chart"}, Handle: says(bot.Reply{Title: "Year", Files: []bot.File{
				{Name: "the year.png", Type: "image/png", Alt: "Bars from March to October", Data: []byte("png")}}})},
			{Name: "many", Help: "Much to choose from", Examples: []string{"/shed many"}, Handle: many},
			{Name: "burn", Help: "Burn it down", Examples: []string{"/shed burn"}, Right: bot.Steward, Confirm: "All of it?", Handle: says(bot.Reply{Text: "burnt"})},
			{Name: "offer", Help: "Something to fill in", Examples: []string{"/shed offer"}, Handle: says(bot.Reply{Text: "What now?", Next: []bot.Next{
				{Label: "Add a tool", Request: "/shed add"}, {Label: "Lend one", Request: "/shed lend"},
				{Label: "A long one", Request: bot.Typed("/shed add", "tool", "rake", "count", "3", "story", strings.Repeat("long ago ", 40))}}})},
		}},
		{Name: "where", Help: "Which co-op this is", Requests: []bot.Request{{Examples: []string{"/where"}, Help: "The co-op",
			Fields: []bot.Field{{Name: "name", Help: "its name", Kind: bot.NamedKind, Complete: func(_ context.Context, in *bot.In, _ string) ([]bot.Choice, error) {
				return bot.Choices("in " + in.Coop.Name), nil
			}}},
			Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				return bot.Reply{Text: fmt.Sprintf("%s in %s", in.Who.Name, in.Coop.Name)}, nil
			}}}},
	}
}

func tools(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	return bot.Matching(bot.Choices("rake", "spade", strings.Repeat("x", 101)), typed), nil
}

func many(context.Context, *bot.In) (bot.Reply, error) {
	r := bot.Reply{Text: "Choose."}
	for n := range 60 {
		r.Next = append(r.Next, bot.Next{Label: fmt.Sprint("rake ", n), Request: fmt.Sprintf("/shed add tool:rake%d count:1", n)})
	}
	return r, nil
}

func add(_ context.Context, in *bot.In) (bot.Reply, error) {
	tool, count, sharp, wood, day, story := in.Text("tool"), in.Whole("count"), in.Yes("sharp"), in.Choice("wood"), in.Day("bought"), in.Text("story")
	if in.Err() == nil && tool == "axe" {
		return bot.Reply{}, fault.New(fault.Taken, "There is an axe. Choose another name.")
	}
	return bot.Reply{Text: fmt.Sprintf("%s %d %t %s %s %d", tool, count, sharp, wood, day, len(story))}, in.Err()
}
