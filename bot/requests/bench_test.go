package requests_test

import (
	"fmt"
	"log/slog"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/knowledge/register"
)

// Neighbours of the one member who was entered by requests: as many more members, each with copies of that member's
// batches, plans and jobs. Through the requests themselves 100,000 batches would take the better part of an hour.
var crowd = []string{
	`INSERT INTO member (coop, key, name, folded, joined)
	 WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < $1) SELECT 1, 'n' || i, 'Neighbour ' || i, 'neighbour ' || i, 0 FROM n`,
	`INSERT INTO batch (coop, mark, variety, member, stage, since, count, made)
	 SELECT 1, '90-' || (m.id * 100 + b.id), b.variety, m.id, b.stage, b.since, b.count, b.made FROM member m, batch b WHERE m.id > 1 AND b.member = 1`,
	`INSERT INTO plan (coop, member, variety, since, bloom_from, bloom_to, stems, made_at)
	 SELECT 1, m.id, p.variety, p.since, p.bloom_from, p.bloom_to, p.stems, p.made_at FROM member m, plan p WHERE m.id > 1 AND p.member = 1 AND p.ended = ''`,
	`INSERT INTO job (plan, kind, coop, member, variety, earliest, likely, latest, due, state)
	 SELECT q.id, j.kind, 1, q.member, q.variety, j.earliest, j.likely, j.latest, j.due, j.state
	 FROM plan q JOIN plan p ON p.member = 1 AND p.variety = q.variety AND p.ended = '' JOIN job j ON j.plan = p.id WHERE q.member > 1`,
}

const eachHas = 20 // batches

func crowded(b *testing.B, batches int) (*bot.Desk, bot.Ask) {
	b.Helper()
	reg, err := register.Open(b.Context(), filepath.Join(b.TempDir(), "shortday.db"))
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, reg.Close()) })
	desk := requests.NewDesk(reg, slog.New(slog.DiscardHandler))
	ask := bot.Ask{Coop: bot.Party{Key: "c", Name: "Tallow Lane Growers"}, Who: bot.Party{Key: "o", Name: "Oona"}, At: time.Date(2026, 11, 20, 19, 0, 0, 0, time.UTC)}
	say := func(request string) {
		reply := desk.AnswerLine(b.Context(), ask, request)
		require.Nil(b, reply.Refusal, "%s: %v", request, reply.Refusal)
	}
	say("/grower place place:53.1,-6.7 zone:Europe/Dublin cover:yes")
	for i := range eachHas {
		say(fmt.Sprintf(`/variety add name:"Trial %d" like:"late spray" protection:free sure:yes`, i))
		say(fmt.Sprintf(`/stock add variety:"Trial %d" count:12 since:"10 nov"`, i))
	}
	say(`/target set variety:"Trial 3" bloom:"5 nov" stems:100`)
	for i, query := range crowd {
		var args []any
		if i == 0 {
			args = []any{batches/eachHas - 1}
		}
		_, err := reg.DB().ExecContext(b.Context(), query, args...)
		require.NoError(b, err)
	}
	return desk, ask
}

// What a member asks costs the same in a register of a hundred times as much: the two are asked by turns, so that what
// else the machine does meets both, and the ratio is that of the medians.
func BenchmarkDesk(b *testing.B) {
	small, ask := crowded(b, 1_000)
	large, _ := crowded(b, 100_000)
	for _, request := range []string{"/job due", `/plan show variety:"Trial 3"`, "/stock list"} {
		b.Run(request[1:6], func(b *testing.B) {
			var took [2][]time.Duration
			for b.Loop() {
				for i, desk := range []*bot.Desk{small, large} {
					start := time.Now()
					reply := desk.AnswerLine(b.Context(), ask, request)
					took[i] = append(took[i], time.Since(start))
					require.Nil(b, reply.Refusal)
				}
			}
			b.ReportMetric(float64(median(took[0]))/1e6, "ms/1000")
			b.ReportMetric(float64(median(took[1]))/1e6, "ms/100000")
			b.ReportMetric(float64(median(took[1]))/float64(median(took[0])), "ratio")
		})
	}
}

// What is completed while one types comes within Discord's three seconds by far, whatever the register holds.
func BenchmarkComplete(b *testing.B) {
	desk, ask := crowded(b, 100_000)
	for _, c := range []struct{ request, field, typed string }{
		{"/stock move", "batch", "Tri"}, {"/stock add", "variety", "Trial 1"}, {"/stock add", "variety", ""}, {"/job done", "job", ""},
		{"/plan show", "target", "trial"}, {"/grower show", "member", "Neighbour 4"},
	} {
		b.Run(c.request[1:]+" "+c.field+" "+c.typed, func(b *testing.B) {
			ask.Request = c.request
			for b.Loop() {
				start := time.Now()
				require.NotEmpty(b, desk.Complete(b.Context(), ask, c.field, c.typed))
				require.Less(b, time.Since(start), time.Second)
			}
		})
	}
}

func median(took []time.Duration) time.Duration {
	slices.Sort(took)
	return took[len(took)/2]
}
