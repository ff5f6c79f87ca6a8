package bot_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/knowledge/calendar"
)

func TestCell(t *testing.T) {
	t.Parallel()
	day := calendar.DayOf(2027, time.November, 5)
	for _, c := range []struct {
		cell       bot.Cell
		shown, raw string
	}{
		{bot.Cell{}, "–", `null`},
		{bot.Text(`a "b"`), `a "b"`, `"a \"b\""`},
		{bot.Text(""), "", `""`},
		{bot.Whole(-12), "-12", `-12`},
		{bot.Number(13.5, 2), "13.50", `13.50`},
		{bot.Number(math.NaN(), 2), "–", `null`},
		{bot.Number(math.Inf(1), 2), "–", `null`},
		{bot.Day(day), "Fri 5 Nov 2027", `"2027-11-05"`},
		{bot.Day(0), "–", `null`},
		{bot.Yes(true), "yes", `true`},
		{bot.Yes(false), "no", `false`},
	} {
		require.Equal(t, c.shown, c.cell.String())
		raw, err := json.Marshal(c.cell)
		require.NoError(t, err)
		require.Equal(t, c.raw, string(raw))
	}
}
