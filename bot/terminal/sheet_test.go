package terminal_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rivo/uniseg"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/bot"
	"shortday/bot/terminal"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

func set(t require.TestingT, s terminal.Sheet, reply bot.Reply) string {
	var b strings.Builder
	require.NoError(t, s.Write(&b, reply, nil))
	return b.String()
}

func plan() bot.Reply {
	rows := bot.Table{Columns: bot.Columns("step", "likely", "plants")}
	rows.Add(bot.Text("strike 切り花"), bot.Day(calendar.DayOf(2027, time.March, 9)), bot.Whole(8))
	rows.Add(bot.Text("stop"), bot.Cell{}, bot.Whole(112))
	return bot.Reply{Title: "Plan", Text: "One line.\nAnother.", Rows: rows, Private: true,
		Files: []bot.File{{Name: "plan.png", Type: "image/png", Alt: "the steps as bars", Data: make([]byte, 2345)}},
		Next:  []bot.Next{{Label: "Set a target", Request: "/target set"}, {Label: "/help", Request: "/help"}}}
}

func TestSheet(t *testing.T) {
	t.Parallel()
	require.Equal(t, `Plan
(only you see this)

One line.
Another.

step           likely          plants
strike 切り花  Tue 9 Mar 2027       8
stop           –                  112

[plan.png, 2 kB] the steps as bars

 1  Set a target  /target set
 2  /help
`, set(t, terminal.Sheet{}, plan()))
}

func TestNarrowSheetWrapsThenStacks(t *testing.T) {
	t.Parallel()
	reply := bot.Reply{Rows: bot.Table{Columns: bot.Columns("step", "basis")}}
	reply.Rows.Add(bot.Text("stop"), bot.Text("a dated stop written for Sheffield"))
	require.Equal(t, "step  basis\nstop  a dated stop\n      written for\n      Sheffield\n", set(t, terminal.Sheet{Width: 20}, reply))
	reply.Rows = bot.Table{Columns: bot.Columns("earliest", "likeliest", "of all")}
	reply.Rows.Add(bot.Text("2027-01-01"), bot.Text("2027-02-01"), bot.Whole(3))
	require.Equal(t, "earliest:\n2027-01-01\nlikeliest:\n2027-02-01\nof all: 3\n", set(t, terminal.Sheet{Width: 12}, reply))
}

func TestColourIsOnlyAroundText(t *testing.T) {
	t.Parallel()
	require.Equal(t, "\x1b[1mPlan\x1b[0m\n", set(t, terminal.Sheet{Colour: true}, bot.Reply{Title: "Plan"}))
	refused := bot.Reply{Private: true, Refusal: &bot.Refusal{Kind: fault.Missing, Text: "No such variety."}}
	require.Equal(t, "\x1b[33mNo such variety.\x1b[0m\n", set(t, terminal.Sheet{Colour: true}, refused))
	require.Equal(t, "No such variety.\n", set(t, terminal.Sheet{}, refused))
}

// Whatever a name holds, it moves no cursor, and no line is wider than the sheet.
func TestNoNameBreaksTheSheet(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringN(0, 60, -1).Draw(t, "name") + rapid.SampledFrom([]string{"", "\x1b[2J", "\u202e", "\r", "切り花", "👩‍🌾"}).Draw(t, "nasty")
		width := rapid.IntRange(20, 60).Draw(t, "width")
		rows := bot.Table{Columns: bot.Columns("variety", "plants")}
		rows.Add(bot.Text(name), bot.Whole(3))
		text := set(t, terminal.Sheet{Width: width}, bot.Reply{Title: name, Text: name, Rows: rows, Next: []bot.Next{{Label: name, Request: "/x"}},
			Files: []bot.File{{Name: name, Alt: name}}})
		require.NotContains(t, text, "\x1b")
		require.NotContains(t, text, "\r")
		require.NotContains(t, text, "\u202e")
		for line := range strings.SplitSeq(text, "\n") {
			require.LessOrEqual(t, uniseg.StringWidth(line), width, line)
		}
	})
}

func TestJSON(t *testing.T) {
	t.Parallel()
	line, err := terminal.JSON("/plan show", plan(), []string{"out/plan.png"})
	require.NoError(t, err)
	require.Equal(t, `{"request":"/plan show","title":"Plan","text":"One line.\nAnother.",`+
		`"rows":[{"step":"strike 切り花","likely":"2027-03-09","plants":8},{"step":"stop","likely":null,"plants":112}],"private":true,`+
		`"files":[{"name":"plan.png","type":"image/png","alt":"the steps as bars","size":2345,"path":"out/plan.png"}],`+
		`"next":[{"label":"Set a target","request":"/target set"},{"label":"/help","request":"/help"}],"refusal":null}`+"\n", string(line))

	meets := calendar.Instant{At: time.Date(2026, time.March, 14, 10, 0, 0, 0, time.FixedZone("here", 3600)), Reader: time.UTC}
	line, err = terminal.JSON("x", bot.Reply{Text: "Handed over: " + meets.String() + ".", Instants: []calendar.Instant{meets}}, nil)
	require.NoError(t, err)
	require.Equal(t, `{"request":"x","title":"","text":"Handed over: Sat 14 Mar 2026, 10:00 in here, which is 09:00 in UTC.","rows":[],"private":false,"files":[],"next":[],"refusal":null,`+
		`"instants":[{"words":"Sat 14 Mar 2026, 10:00 in here, which is 09:00 in UTC","at":"2026-03-14T10:00:00+01:00"}]}`+"\n", string(line))
	line, err = terminal.JSON("x", bot.Reply{Private: true, Refusal: &bot.Refusal{Kind: fault.Unclear, Text: "<What>?"}}, nil)
	require.NoError(t, err)
	require.Equal(t, `{"request":"x","title":"","text":"","rows":[],"private":true,"files":[],"next":[],"refusal":{"kind":"unclear","text":"<What>?"}}`+"\n", string(line))
	require.True(t, json.Valid(line))
}

func TestKeepNeverOverwritesNorLeavesItsFolder(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "new")
	files := []bot.File{{Name: "../a.ics", Data: []byte("one")}, {Name: "a.ics", Data: []byte("two")}}
	paths, err := terminal.Keep(dir, files)
	require.NoError(t, err)
	require.Equal(t, []string{filepath.Join(dir, "a.ics"), filepath.Join(dir, "a-2.ics")}, paths)
	second, err := os.ReadFile(paths[1])
	require.NoError(t, err)
	require.Equal(t, "two", string(second))
	none, err := terminal.Keep("", files)
	require.NoError(t, err)
	require.Empty(t, none)
}

func TestADayIsNotBrokenInAColumn(t *testing.T) {
	t.Parallel()
	rows := bot.Table{Columns: bot.Columns("target", "job", "what it waits for", "plants")}
	rows.Add(bot.Text("Saltmarsh 2027-11-05"), bot.Text("water before the final pot"), bot.Text("roots that hold the ball"), bot.Whole(12))
	for width := 38; width <= 80; width++ {
		var out strings.Builder
		require.NoError(t, terminal.Sheet{Width: width}.Write(&out, bot.Reply{Rows: rows}, nil))
		require.Contains(t, out.String(), "2027-11-05", width)
		for line := range strings.Lines(out.String()) {
			require.LessOrEqual(t, len(strings.TrimRight(line, "\n")), width, line)
		}
	}
}
