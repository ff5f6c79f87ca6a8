package bot_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"testing"
	"time"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// shed is a family that uses every kind of field; its answer says what was read.
func shed() []bot.Family {
	return []bot.Family{
		{Name: "shed", Help: "What stands in the shed", Requests: []bot.Request{
			{Name: "add", Help: "Put tools in the shed", Examples: []string{`/shed add tool:"long rake" count:2`}, Fields: []bot.Field{
				{Name: "tool", Help: "what it is called", Kind: bot.NamedKind, Required: true, Complete: tools},
				{Name: "count", Also: "number", Counts: []string{"tool"}, Help: "how many", Kind: bot.WholeKind, Required: true, Min: new(1.0), Max: new(99.0)},
				{Name: "weight", Help: "in kilograms", Kind: bot.NumberKind, Min: new(0.25)},
				{Name: "handle", Help: "how long the handle is", Kind: bot.LengthKind, Max: new(300.0)},
				{Name: "kept", Help: "how warm it is kept", Kind: bot.TemperatureKind, Min: new(-20.0)},
				{Name: "sharp", Help: "whether it cuts", Kind: bot.YesKind},
				{Name: "wood", Help: "what the handle is of", Kind: bot.ChoiceKind, Choices: []bot.Choice{{Label: "ash", Value: "ash", Also: []string{"hardwood", "olive"}}, {Label: "beech", Value: "beech", Also: []string{"hardwood"}}}},
				{Name: "bought", Help: "the day it was bought", Kind: bot.DayKind, Sense: calendar.Done},
				{Name: "oiled", Help: "the day of the year it is oiled", Kind: bot.AnnualKind},
				{Name: "mark", Help: "a word cut into it", Kind: bot.TextKind, Min: new(2.0), Max: new(5.0)},
				{Name: "story", Help: "where it came from", Kind: bot.LongTextKind},
				{Name: "picture", Help: "what it looks like", Kind: bot.FileKind},
			}, Handle: add},
			{Name: "burn", Help: "Burn it down", Examples: []string{"/shed burn"}, Right: bot.Steward, Confirm: "All of it?",
				Handle: func(context.Context, *bot.In) (bot.Reply, error) { return bot.Reply{Text: "burnt"}, nil }},
			{Name: "break", Help: "Fail", Examples: []string{"/shed break how:panic"},
				Fields: []bot.Field{{Name: "how", Help: "in which way", Kind: bot.TextKind, Bare: true}}, Handle: fail},
		}},
		{Name: "clock", Help: "What the asker's clock shows", Requests: []bot.Request{{Examples: []string{"/clock"},
			Help: "The day and the hour", Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
				return bot.Reply{Text: in.Today().String() + in.At.Format(" 15:04")}, nil
			}}}},
	}
}

func tools(context.Context, *bot.In, string) ([]bot.Choice, error) {
	return make([]bot.Choice, 40), nil
}

func add(_ context.Context, in *bot.In) (bot.Reply, error) {
	tool, count, weight, handle, kept := in.Text("tool"), in.Whole("count"), in.Number("weight"), in.Length("handle"), in.Temperature("kept")
	sharp, wood, bought, oiled := in.Yes("sharp"), in.Choice("wood"), in.Day("bought"), in.Annual("oiled")
	mark, story, picture := in.Text("mark"), in.Text("story"), in.File("picture")
	size := bot.Take(in, "tool", func(text string) (int, error) { return len(text), nil })
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if in.Has("picture") {
		return bot.Reply{Text: fmt.Sprintf("%s %s %d", picture.Name, picture.Type, len(picture.Data))}, nil
	}
	return bot.Reply{Text: fmt.Sprintf("%q %d %g %.1f %.1f %t %q %s %s %q %q %d",
		tool, count, weight, handle, kept, sharp, wood, bought, oiled, mark, story, size)}, nil
}

func fail(_ context.Context, in *bot.In) (bot.Reply, error) {
	switch in.Text("how") {
	case "panic":
		panic("a secret")
	case "plain":
		return bot.Reply{}, errors.New("a secret")
	case "rows":
		rows := bot.Table{Columns: bot.Columns("tool", "count")}
		rows.Add(bot.Text("a secret"))
		return bot.Reply{Rows: rows}, nil
	case "late":
		return bot.Reply{}, fmt.Errorf("waiting: %w", context.DeadlineExceeded)
	case "kept":
		in.Fail(fault.New(fault.Taken, "Kept."))
		in.Fail(fault.New(fault.Missing, "Second."))
		return bot.Reply{Text: "overlooked"}, nil
	}
	return bot.Reply{}, fmt.Errorf("deep: %w", fault.New(fault.Missing, "No such tool.").Because(errors.New("a secret")))
}

var noon = time.Date(2027, time.March, 1, 12, 0, 0, 0, time.UTC)

func desk(t *testing.T, standing bot.Standing) (*bot.Desk, *bytes.Buffer) {
	t.Helper()
	var log bytes.Buffer
	know := func(context.Context, bot.Ask) (bot.Standing, error) { return standing, nil }
	return bot.NewDesk(shed(), know, slog.New(slog.NewTextHandler(&log, nil))), &log
}
