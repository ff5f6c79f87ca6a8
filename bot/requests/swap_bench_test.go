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

// Members with 20 batches each, an offer of every batch and a want of every twentieth, over 300 varieties of which the
// first is as common as 1 in 6 and the others as 1 by their rank.
var bazaar = []string{
	`INSERT INTO variety (coop, name, folded, season, form, protection, added_at)
	 WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 300) SELECT 1, 'Kind ' || i, 'kind ' || i, 'late', 'spray', 'free', 0 FROM n`,
	`INSERT INTO member (coop, key, name, folded, joined)
	 WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < $1) SELECT 1, 'n' || i, 'Neighbour ' || i, 'neighbour ' || i, 0 FROM n`,
	`INSERT INTO batch (coop, mark, variety, member, stage, since, count, made)
	 WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 20)
	 SELECT 1, '90-' || (m.id * 20 + n.i), 1 + CAST(exp(((m.id * 7919 + n.i * 104729) % 1000) / 1000.0 * ln(300)) AS INTEGER) % 300, m.id, 'potted', '2027-02-01', 12, '2027-02-01' FROM member m, n WHERE m.id > 1`,
	`INSERT INTO offer (coop, member, batch, variety, stock, number, free, ready, until, made_at)
	 SELECT 1, member, id, variety, CASE id % 2 WHEN 0 THEN 'plants' ELSE 'rooted cuttings' END, 6, 6, date('2027-02-01', '+' || (id % 90) || ' days'), '2027-06-30', 0 FROM batch WHERE member > 1`,
	`INSERT INTO want (coop, member, variety, stock, number, free, last, made_at)
	 SELECT 1, member, variety, 'plants', 4, 4, date('2027-04-01', '+' || (id % 60) || ' days'), 0 FROM batch WHERE member > 1 AND id % 20 = 0`,
}

func swapLane(b *testing.B, offers int) (*bot.Desk, bot.Ask) {
	b.Helper()
	reg, err := register.Open(b.Context(), filepath.Join(b.TempDir(), "shortday.db"))
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, reg.Close()) })
	desk := requests.NewDesk(reg, slog.New(slog.DiscardHandler))
	ask := bot.Ask{Coop: bot.Party{Key: "c", Name: "Tallow Lane"}, Who: bot.Party{Key: "o", Name: "Oona"}, At: time.Date(2027, 2, 20, 19, 0, 0, 0, time.UTC)}
	require.Nil(b, desk.AnswerLine(b.Context(), ask, "/grower place place:53.1,-6.7 zone:Europe/Dublin").Refusal)
	for i, query := range bazaar {
		var args []any
		if i == 1 {
			args = []any{offers / 20}
		}
		_, err := reg.DB().ExecContext(b.Context(), query, args...)
		require.NoError(b, err)
	}
	return desk, ask
}

// A list costs by what it shows, and not by what is stored.
func BenchmarkSwapList(b *testing.B) {
	for _, offers := range []int{1_000, 100_000} {
		desk, ask := swapLane(b, offers)
		ask.Who = bot.Party{Key: "n7", Name: "Neighbour 7"}
		for name, request := range map[string]string{
			"all": "/swap list", "near": `/swap list near:"1 mar" stock:rooted`, "offers": `/swap list variety:"Kind 2" show:offers`, "wants": "/swap list show:wants",
			"wanted": "/swap list show:wanted", "mine": "/swap list show:mine", "ledger": "/swap list show:ledger", "who": `/swap list variety:"Kind 40"`,
			"commonest": `/swap list variety:"Kind 2"`, "risk": "/swap list show:risk",
		} {
			b.Run(fmt.Sprintf("%s/%d", name, offers), func(b *testing.B) {
				for b.Loop() {
					require.Nil(b, desk.AnswerLine(b.Context(), ask, request).Refusal)
				}
			})
		}
	}
}
