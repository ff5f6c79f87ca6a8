package bot_test

import (
	"context"
	"log/slog"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/knowledge/fault"
)

func answer(t *testing.T, standing bot.Standing, typed string) bot.Reply {
	t.Helper()
	d, _ := desk(t, standing)
	return d.AnswerLine(t.Context(), bot.Ask{At: noon}, typed)
}

func TestFieldsAreReadByKind(t *testing.T) {
	t.Parallel()
	const begin = "/shed add tool:rake count:2 "
	for typed, want := range map[string]string{
		``:                                `"rake" 2 0 0.0 0.0 false ""   "" "" 4`,
		`weight:7,5 handle:1.5m kept:61f`: `"rake" 2 7.5 150.0 16.1 false ""   "" "" 4`,
		`weight:90 % handle:18" kept:−4`:  `"rake" 2 90 45.7 -4.0 false ""   "" "" 4`,
		`handle:5' kept:16 °C`:            `"rake" 2 0 152.4 16.0 false ""   "" "" 4`,
		`sharp:Yes wood:ASH`:              `"rake" 2 0 0.0 0.0 true "ash"   "" "" 4`,
		`bought:2027-02-03 sharp:off`:     `"rake" 2 0 0.0 0.0 false "" 2027-02-03  "" "" 4`,
		`oiled:10-05`:                     `"rake" 2 0 0.0 0.0 false ""  5 Oct "" "" 4`,
		`mark:" a` + "\x1b" + `b " `:      `"rake" 2 0 0.0 0.0 false ""   "ab" "" 4`,
		`story:"one\ntwo\u202e"`:          `"rake" 2 0 0.0 0.0 false ""   "" "one\ntwo\\u202e" 4`,
		"mark:a\u202eb":                   `"rake" 2 0 0.0 0.0 false ""   "ab" "" 4`,
	} {
		reply := answer(t, bot.Standing{}, begin+typed)
		require.Nil(t, reply.Refusal, typed)
		require.Equal(t, want, reply.Text, typed)
	}
	for typed, want := range map[string]string{
		"count:5 tools wood:olive": `"rake" 5 0 0.0 0.0 false "ash"   "" "" 4`,
		"number:1tool":             `"rake" 1 0 0.0 0.0 false ""   "" "" 4`,
		"count:5 Tools":            `"rake" 5 0 0.0 0.0 false ""   "" "" 4`,
	} {
		reply := answer(t, bot.Standing{}, "/shed add tool:rake "+typed)
		require.Nil(t, reply.Refusal, typed)
		require.Equal(t, want, reply.Text, typed)
	}
	imperial := answer(t, bot.Standing{Fahrenheit: true, Inches: true}, begin+"handle:10 kept:50")
	require.Equal(t, `"rake" 2 0 25.4 10.0 false ""   "" "" 4`, imperial.Text)
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	const begin = "/shed add tool:rake "
	for typed, want := range map[string]string{
		"/shed add":                                          "Tell me the tool and the count too: /shed add needs tool: (what it is called) and count: (how many).",
		begin:                                                "Tell me the count too: /shed add needs count: (how many).",
		begin + `count:"` + "\x1b\" ":                        "Tell me the count too: /shed add needs count: (how many).",
		begin + "count:two":                                  `"two" is no whole number. Write the count as in count:12.`,
		begin + "count:1,200":                                `"1,200" is no whole number. Write the count as in count:12.`,
		begin + "count:2.5":                                  `"2.5" is no whole number. Write the count as in count:12.`,
		begin + "count:5 rakes":                              `"5 rakes" is no whole number. Write the count as in count:12.`,
		begin + "count:5 tools number:5":                     "The field count stands twice. Leave one of them out and send it again.",
		begin + "count:9 wood:hardwood":                      `"hardwood" may be ash or beech. Write which as in wood:ash.`,
		begin + "count:0":                                    "The field count takes at least 1; 0 is less. Change it and send it again.",
		begin + "count:100":                                  "The field count takes at most 99; 100 is more. Change it and send it again.",
		begin + "count:0x10":                                 `"0x10" is no whole number. Write the count as in count:12.`,
		begin + "count:9 sharp:?":                            `"?" is neither yes nor no. Write sharp:yes or sharp:no.`,
		begin + "count:9 wood:assh":                          `"assh" is no wood. Did you mean ash? Write one of ash, beech.`,
		begin + `count:9 bought:"?"`:                         "Tell me the bought too: /shed add needs bought: (the day it was bought).",
		begin + "count:9 weight:NaN":                         `"NaN" is no number. Write the weight as in weight:7.5.`,
		begin + "count:9 weight:0.1":                         "The field weight takes at least 0.25; 0.1 is less. Change it and send it again.",
		begin + "count:9 handle:4 m":                         "The field handle takes at most 300 cm; 4 m is more. Change it and send it again.",
		begin + "count:9 handle:4 c":                         `"4 c" is no length. Write the handle as in handle:"20 cm".`,
		begin + "count:9 kept:warm":                          `"warm" is no temperature. Write the kept as in kept:"20 °C".`,
		begin + "count:9 kept:-30":                           "The field kept takes at least -20 °C; -30 is less. Change it and send it again.",
		begin + "count:9 mark:abcdef":                        "The mark may have 5 characters at most; this has 6. Shorten it and send it again.",
		begin + "count:9 mark:a":                             "The field mark takes at least 2 characters. Make it longer and send it again.",
		begin + "count:x weight:y":                           `"x" is no whole number. Write the count as in count:12.`, // the first fault is kept
		begin + "count:9 tool2:x":                            "/shed add has no field tool2. Did you mean tool? Its fields are tool:, count:, weight:, handle:, kept:, sharp:, wood:, bought:, oiled:, mark:, story:, picture:. If it belongs to a value, put that in quotes.",
		"/shed add count:9 tool:" + strings.Repeat("x", 201): "The tool may have 200 characters at most; this has 201. Shorten it and send it again.",
		"/shed burn":                                         "Only a steward of the co-op may ask /shed burn. Ask one of them to do it; /coop show names them.",
		"/shed break kept":                                   "Kept.",
		"/shed break missing":                                "No such tool.",
		"/shed break late":                                   "This took too long and was given up. Please ask again.",
	} {
		reply := answer(t, bot.Standing{}, typed)
		require.NotNil(t, reply.Refusal, typed)
		require.Equal(t, want, reply.Refusal.Text)
		require.True(t, reply.Private)
		require.Empty(t, reply.Text)
	}
}

func TestInternalIsLoggedOnceAndToldToNobody(t *testing.T) {
	t.Parallel()
	for _, how := range []string{"panic", "plain", "rows"} {
		d, log := desk(t, bot.Standing{})
		reply := d.AnswerLine(t.Context(), bot.Ask{At: noon, Who: bot.Party{Name: "Maren"}}, "/shed break "+how)
		require.Equal(t, fault.Internal, reply.Refusal.Kind)
		require.NotContains(t, reply.Refusal.Text, "secret")
		require.Equal(t, 1, strings.Count(log.String(), "level=ERROR"))
		require.Regexp(t, "a secret|row 0 has 1 cells for 2 columns", log.String())
		require.NotContains(t, log.String(), "Maren")
	}
	d, log := desk(t, bot.Standing{})
	d.AnswerLine(t.Context(), bot.Ask{At: noon}, "/shed break missing")
	require.Empty(t, log.String())
}

func TestConfirmAsksOnce(t *testing.T) {
	t.Parallel()
	d, _ := desk(t, bot.Standing{})
	steward := bot.Ask{At: noon, Steward: true}
	first := d.AnswerLine(t.Context(), steward, "/shed burn")
	require.Equal(t, bot.Reply{Text: "All of it?", Private: true, Next: []bot.Next{{Label: "Yes, do it", Request: "/shed burn sure:yes"}}}, first)
	require.Equal(t, first, d.AnswerLine(t.Context(), steward, "/shed burn sure:no"))
	require.Equal(t, "burnt", d.AnswerLine(t.Context(), steward, first.Next[0].Request).Text)
}

func TestTheDayIsTheAskers(t *testing.T) {
	t.Parallel()
	auckland, err := time.LoadLocation("Pacific/Auckland")
	require.NoError(t, err)
	late := time.Date(2027, time.March, 1, 22, 30, 0, 0, time.UTC)
	d, _ := desk(t, bot.Standing{Zone: auckland})
	require.Equal(t, "2027-03-02 11:30", d.AnswerLine(t.Context(), bot.Ask{At: late}, "/clock").Text)
	require.Equal(t, "2027-03-01 22:30", d.AnswerLine(t.Context(), bot.Ask{At: late, Clock: true}, "/clock").Text)
	require.Equal(t, "2027-03-01 12:00", answer(t, bot.Standing{}, "/clock").Text)
}

func TestAPrefabricatedAskIsCheckedToo(t *testing.T) {
	t.Parallel()
	d, _ := desk(t, bot.Standing{})
	reply := d.Answer(t.Context(), bot.Ask{At: noon, Request: "/shed mend"})
	require.Equal(t, fault.Unclear, reply.Refusal.Kind)
	reply = d.Answer(t.Context(), bot.Ask{At: noon, Request: "/Shed Add"})
	require.Equal(t, fault.Unclear, reply.Refusal.Kind)
	reply = d.Answer(t.Context(), bot.Ask{At: noon, Request: "/shed add", Fields: []bot.Entry{{Field: "age", Text: "3"}}})
	require.Contains(t, reply.Refusal.Text, "/shed add has no field age.")
}

func TestAnAskIsAnsweredWithinOneLook(t *testing.T) {
	t.Parallel()
	type lookKey struct{}
	var looks int
	seen := func(ctx context.Context, _ bot.Ask) (bot.Standing, error) {
		require.Equal(t, looks, ctx.Value(lookKey{}))
		return bot.Standing{}, nil
	}
	d := bot.NewDesk(shed(), seen, slog.New(slog.DiscardHandler)).Looking(func(ctx context.Context, do func(context.Context) error) error {
		looks++
		return do(context.WithValue(ctx, lookKey{}, looks))
	})
	require.Equal(t, "2027-03-01 12:00", d.AnswerLine(t.Context(), bot.Ask{At: noon}, "/clock").Text)
	require.NotEmpty(t, d.Complete(t.Context(), bot.Ask{At: noon, Request: "/shed add"}, "wood", "a"))
	require.Equal(t, 2, looks)
	require.Equal(t, "Kept.", d.AnswerLine(t.Context(), bot.Ask{At: noon}, "/shed break kept").Refusal.Text)
}
