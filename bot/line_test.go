package bot_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/bot"
	"shortday/knowledge/fault"
)

func TestRead(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string][]bot.Entry{
		`/shed add tool:rake count:2`:                  {{"tool", "rake", nil}, {"count", "2", nil}},
		`shed add tool:rake`:                           {{"tool", "rake", nil}},
		"  /Shed   ADD\tTool:  rake   count : 2  ":     {{"tool", "rake", nil}, {"count", "2", nil}},
		`/shed add tool:long  rake count:2`:            {{"tool", "long rake", nil}, {"count", "2", nil}},
		`/shed add bought:5 nov tool:rake`:             {{"bought", "5 nov", nil}, {"tool", "rake", nil}},
		`/shed add bought:in 3 weeks`:                  {{"bought", "in 3 weeks", nil}},
		`/shed add tool:"say \"rake\" \\ \n" count:2`:  {{"tool", "say \"rake\" \\ \n", nil}, {"count", "2", nil}},
		`/shed add tool:“long: rake” count:2`:          {{"tool", "long: rake", nil}, {"count", "2", nil}},
		`/shed add tool:"long: rake” count:2`:          {{"tool", "long: rake", nil}, {"count", "2", nil}},
		`/shed add tool:„long rake“ count:2`:           {{"tool", "long rake", nil}, {"count", "2", nil}},
		`/shed add tool:«long rake» mark:12" wood:ash`: {{"tool", "long rake", nil}, {"mark", `12"`, nil}, {"wood", "ash", nil}},
		`/shed add tool:""`:                            {{"tool", "", nil}},
		`/shed add tool:`:                              {{"tool", "", nil}},
		`/shed add kept:-3.5 handle:39.7,-105`:         {{"kept", "-3.5", nil}, {"handle", "39.7,-105", nil}},
		`/shed break in many ways`:                     {{"how", "in many ways", nil}},
	} {
		d, _ := desk(t, bot.Standing{})
		request, fields, err := d.Read(typed)
		require.NoError(t, err, typed)
		require.Contains(t, []string{"/shed add", "/shed break"}, request)
		require.Equal(t, want, fields, typed)
	}
}

func TestReadRefuses(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]string{
		``:                           "No request stands there. Start with one such as /job due; /help lists them all.",
		`/`:                          "No request stands there. Start with one such as /job due; /help lists them all.",
		`count:2`:                    "No request stands there. Start with one such as /job due; /help lists them all.",
		`/shde add`:                  "There is no request /shde. Did you mean /shed? /help lists what can be asked.",
		`/greenhouse`:                "There is no request /greenhouse. /help lists what can be asked.",
		`/shed`:                      "/shed needs one more word: add, burn or break. /help shed explains them.",
		`/shed brun`:                 "There is no request /shed brun. Did you mean /shed burn? It can be followed by add, burn or break.",
		`/shed burn twice`:           `"twice" stands before any field. Its fields are sure:.`,
		`/clock now`:                 `"now" stands before any field. /clock takes no fields.`,
		`/shed add tool:"rake`:       "The quote after tool: is not closed. Close it with another one and send it again.",
		`/shed add tool:"a" b`:       `"b" after the quoted tool belongs to no field. Write the field's name and a colon before it.`,
		`/shed add count:2 count:3`:  "The field count stands twice. Leave one of them out and send it again.",
		`/shed burn cuont:1`:         "/shed burn has no field cuont. Its fields are sure:. If it belongs to a value, put that in quotes.",
		`/shed break hwo:x`:          "/shed break has no field hwo. Did you mean how? Its fields are how:. If it belongs to a value, put that in quotes.",
		`/shed break how:see http:x`: "/shed break has no field http. Its fields are how:. If it belongs to a value, put that in quotes.",
	} {
		d, _ := desk(t, bot.Standing{})
		_, _, err := d.Read(typed)
		require.Equal(t, fault.Unclear, fault.KindOf(err), typed)
		require.Equal(t, want, err.Error(), typed)
	}
}

// What is written reads back the same, whatever the texts are.
func TestWriteReads(t *testing.T) {
	t.Parallel()
	d, _ := desk(t, bot.Standing{})
	rapid.Check(t, func(t *rapid.T) {
		ask := bot.Ask{Request: "/shed add"}
		for _, name := range rapid.Permutation([]string{"tool", "count", "mark", "story"}).Draw(t, "fields") {
			ask.Fields = append(ask.Fields, bot.Entry{Field: name, Text: rapid.String().Draw(t, name)})
		}
		request, fields, err := d.Read(ask.String())
		require.NoError(t, err, ask.String())
		require.Equal(t, ask.Request, request)
		require.Equal(t, ask.Fields, fields)
	})
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		`/shed add tool:"long \"rake\"" count:2`, `shed break „so“`, `/shed add tool:“a" b:`, "/clock", `/shed add tool : \ "`, "/shed add tool:\xff",
	} {
		f.Add(seed)
	}
	d := bot.NewDesk(shed(), nil, nil)
	f.Fuzz(func(t *testing.T, typed string) {
		request, fields, err := d.Read(typed)
		if err != nil {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			return
		}
		written := bot.Ask{Request: request, Fields: fields}.String()
		again, same, err := d.Read(written)
		require.NoError(t, err, written)
		require.Equal(t, request, again)
		require.Equal(t, fields, same, written)
	})
}

func TestTyped(t *testing.T) {
	t.Parallel()
	require.Equal(t, `/shed add tool:"long rake" count:2`, bot.Typed("/shed add", "tool", "long rake", "mark", "", "count", "2"))
	require.Equal(t, "/clock", bot.Typed("/clock"))
}
