package terminal_test

import (
	"context"
	"log/slog"
	"time"

	"shortday/bot"
)

// shed is a desk with a family of which every reply can be read at a glance.
func shed() *bot.Desk {
	family := bot.Family{Name: "shed", Help: "What stands in the shed", Requests: []bot.Request{
		{Name: "add", Help: "Put tools in the shed", Examples: []string{"/shed add tool:rake count:2"}, Fields: []bot.Field{
			{Name: "tool", Help: "what it is called", Kind: bot.NamedKind, Required: true, Complete: tools},
			{Name: "wood", Help: "what the handle is of", Kind: bot.ChoiceKind, Required: true, Choices: bot.Choices("ash", "beech")},
			{Name: "mark", Help: "a word cut into it", Kind: bot.TextKind},
			{Name: "made", Help: "who made it", Kind: bot.TextKind},
		}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
			return bot.Reply{
				Text:  in.Text("tool") + " of " + in.Choice("wood") + " " + in.Text("mark"),
				Files: []bot.File{{Name: "../rake.txt", Type: "text/plain", Alt: "a rake", Data: []byte("rake")}},
				Next:  []bot.Next{{Label: "See all", Request: "/shed list"}, {Label: "Another", Request: "/shed add"}},
			}, nil
		}},
		{Name: "list", Help: "All tools", Examples: []string{"/shed list"}, Handle: func(context.Context, *bot.In) (bot.Reply, error) {
			return bot.Reply{Title: "Tools", Private: true}, nil
		}},
	}}
	standing := func(context.Context, bot.Ask) (bot.Standing, error) { return bot.Standing{}, nil }
	return bot.NewDesk([]bot.Family{family}, standing, slog.New(slog.DiscardHandler))
}

func tools(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
	return bot.Matching(bot.Choices("long rake", "long spade", "hoe"), typed), nil
}

func maren() bot.Ask {
	return bot.Ask{Who: bot.Party{Key: "maren", Name: "Maren"}, At: time.Date(2027, time.March, 1, 12, 0, 0, 0, time.UTC)}
}
