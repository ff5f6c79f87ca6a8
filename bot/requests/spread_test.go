package requests_test

import (
	"fmt"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/knowledge/register"
)

// In a large co-op a spread looks at the holdings with the most plants, says how many it left out, and asks of the register
// in proportion to those it looked at.
func TestSpreadOfALargeCoop(t *testing.T) {
	t.Parallel()
	reg, err := register.Open(t.Context(), filepath.Join(t.TempDir(), "shortday.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	desk := requests.NewDesk(reg, slog.New(slog.DiscardHandler))
	ask := bot.Ask{Coop: bot.Party{Key: "c", Name: "Tallow Lane Growers"}, Who: bot.Party{Key: "o", Name: "Oona"}, At: time.Date(2027, 3, 1, 19, 0, 0, 0, time.UTC)}
	say := func(request string) bot.Reply {
		reply := desk.AnswerLine(t.Context(), ask, request)
		require.Nil(t, reply.Refusal, "%s: %v", request, reply.Refusal)
		return reply
	}
	say("/coop setup place:53.1,-6.7 zone:Europe/Dublin")
	for i := range 10 {
		say(fmt.Sprintf(`/variety add name:"Trial %d" like:"late spray" natural:"%d nov" natural-at:53 protection:free sure:yes`, i, 1+i))
	}
	grow := func(from, to, count int) {
		for _, query := range []string{
			`INSERT INTO member (coop, key, name, folded, joined, cover)
			 WITH RECURSIVE n (i) AS (SELECT $1 UNION ALL SELECT i + 1 FROM n WHERE i < $2) SELECT 1, 'n' || i, 'Neighbour ' || i, 'neighbour ' || i, 0, 1 FROM n`,
			`INSERT INTO batch (coop, mark, variety, member, stage, since, count, made)
			 SELECT 1, '90-' || (m.id * 100 + v.id), v.id, m.id, 'potted', '2027-02-20', $3, '2027-02-20' FROM member m, variety v WHERE m.folded >= 'neighbour ' || $1 AND m.folded <= 'neighbour ' || $2`,
		} {
			args := []any{from, to, count}
			if query[12] == 'm' {
				args = args[:2]
			}
			_, err := reg.DB().ExecContext(t.Context(), query, args...)
			require.NoError(t, err)
		}
	}
	const spread = `/target spread from:"1 nov" until:"14 nov" stems:200 coop:yes`
	cost := func() int64 {
		before := reg.Statements()
		say(spread)
		return reg.Statements() - before
	}
	grow(100, 119, 30) // 200 holdings of thirty
	require.Contains(t, say(spread).Text, "The 60 largest holdings were looked at; 140 were left out.")
	grow(200, 209, 80) // 100 more, larger than those
	reply := say(spread)
	require.Contains(t, reply.Text, "The 60 largest holdings were looked at; 240 were left out.")
	require.NotEmpty(t, reply.Rows.Rows)
	for _, row := range reply.Rows.Rows {
		require.NotContains(t, fmt.Sprint(row), "Neighbour 1", "the larger holdings do")
	}
	many := cost()
	grow(300, 339, 20) // 400 more, smaller than those
	require.Less(t, cost(), many+40+10, "a statement for each member more, and hardly any for their holdings")
}
