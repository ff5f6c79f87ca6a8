package bot_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
)

func TestCheck(t *testing.T) {
	t.Parallel()
	require.NoError(t, bot.Check(shed()))
	long := strings.Repeat("x", 101)
	for want, spoil := range map[string]func(f *bot.Family){
		"not a name":                  func(f *bot.Family) { f.Name = "Shed" },
		"101 characters":              func(f *bot.Family) { f.Requests[0].Help = long },
		"0 characters":                func(f *bot.Family) { f.Requests[0].Fields[0].Help = "" },
		"has to be the only one":      func(f *bot.Family) { f.Requests[0].Name = "" },
		"no requests":                 func(f *bot.Family) { f.Requests = nil },
		"no handler":                  func(f *bot.Family) { f.Requests[0].Handle = nil },
		"no example":                  func(f *bot.Family) { f.Requests[0].Examples = nil },
		"required count after an opt": func(f *bot.Family) { f.Requests[0].Fields[0].Required = false },
		"choices belong to a field":   func(f *bot.Family) { f.Requests[0].Fields[0].Choices = bot.Choices("a") },
		"both choices and completion": func(f *bot.Family) { f.Requests[0].Fields[6].Complete = tools },
		"a name without completion":   func(f *bot.Family) { f.Requests[0].Fields[0].Complete = nil },
		"a name stands twice":         func(f *bot.Family) { f.Requests[1].Name = f.Requests[0].Name },
		"fields: 26; 25 are taken":    func(f *bot.Family) { f.Requests[0].Fields = many(26) },
		"requests: 26; 25 are taken":  func(f *bot.Family) { f.Requests = append(f.Requests, make([]bot.Request, 23)...) },
		"characters of names, help and": func(f *bot.Family) {
			for i := range 10 {
				f.Requests = append(f.Requests, bot.Request{Name: fmt.Sprint(i), Help: "h", Fields: many(25)})
			}
		},
		"has lost the file by then":     func(f *bot.Family) { f.Requests[0].Confirm = "Sure?" },
		"a file has neither completion": func(f *bot.Family) { f.Requests[0].Fields[11].Bare = true },
		"its form cannot ask for none":  func(f *bot.Family) { f.Requests[0].Form = []string{"none"} },
		"another name for count":        func(f *bot.Family) { f.Requests[0].Fields[1].Also = "tool" },
		"only a number counts":          func(f *bot.Family) { f.Requests[0].Fields[0].Counts = []string{"tool"} },
		"leaves out the required":       func(f *bot.Family) { f.Requests[0].Form = []string{f.Requests[0].Fields[6].Name} },
		"bare fields: 2; 1 are taken":   func(f *bot.Family) { f.Requests[0].Fields[0].Bare, f.Requests[0].Fields[1].Bare = true, true },
	} {
		families := shed()
		spoil(&families[0])
		require.ErrorContains(t, bot.Check(families), want)
	}
	require.Panics(t, func() { bot.NewDesk(append(shed(), shed()[0]), nil, nil) })
}

func many(n int) []bot.Field {
	fields := make([]bot.Field, n)
	for i := range fields {
		fields[i] = bot.Field{Name: fmt.Sprintf("field-%d", i), Help: strings.Repeat("h", 50), Kind: bot.TextKind}
	}
	return fields
}

// A request with a Confirm must not run its handler at the first asking.
func TestConfirmHoldsTheHandler(t *testing.T) {
	t.Parallel()
	ran := false
	families := []bot.Family{{Name: "gone", Help: "h", Requests: []bot.Request{{Help: "h", Examples: []string{"/gone"}, Confirm: "Sure?",
		Handle: func(context.Context, *bot.In) (bot.Reply, error) { ran = true; return bot.Reply{}, nil }}}}}
	know := func(context.Context, bot.Ask) (bot.Standing, error) { return bot.Standing{}, nil }
	d := bot.NewDesk(families, know, nil)
	d.AnswerLine(t.Context(), bot.Ask{At: noon}, "/gone")
	require.False(t, ran)
	d.AnswerLine(t.Context(), bot.Ask{At: noon}, "/gone sure:yes")
	require.True(t, ran)
	require.Len(t, families[0].Requests[0].Fields, 0, "the caller's families are left alone")
}
