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

// A large co-op: $1 members, each with twenty of sixty varieties in two batches, a target for each of them, and a bloom of
// each of the last three years.
var largeCoop = []string{
	crowd[0],
	`INSERT INTO batch (coop, mark, variety, member, stage, since, count, made)
	 WITH RECURSIVE n (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 39)
	 SELECT 1, '90-' || (m.id * 100 + n.i), 1 + (m.id * 7 + n.i / 2 * 3) % 60, m.id, CASE n.i % 2 WHEN 0 THEN 'boxed' ELSE 'struck' END, '2027-02-01', 12, '2027-02-01'
	 FROM member m, n WHERE m.id > 1`,
	`INSERT INTO plan (coop, member, variety, since, bloom_from, bloom_to, stems, made_at, way, earliest, likely, latest, basis)
	 WITH RECURSIVE n (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 19)
	 SELECT 1, m.id, 1 + (m.id * 7 + n.i * 3) % 60, '2027-02-01', date('2027-09-10', '+' || ((m.id * 13 + n.i * 5) % 90) || ' days'), date('2027-09-10', '+' || ((m.id * 13 + n.i * 5) % 90) || ' days'),
	        10 + (m.id + n.i) % 90, 0, 'natural', date('2027-09-01', '+' || ((m.id * 13 + n.i * 5) % 90) || ' days'), date('2027-09-10', '+' || ((m.id * 13 + n.i * 5) % 90) || ' days'),
	        date('2027-09-20', '+' || ((m.id * 13 + n.i * 5) % 90) || ' days'), 'class'
	 FROM member m, n WHERE m.id > 1`,
	`INSERT INTO event (coop, member, variety, deed, day, count, at)
	 SELECT 1, b.member, b.variety, 'bloom', y.y || '-11-' || (10 + (b.member + b.variety) % 18), 30, 0
	 FROM batch b, (SELECT 2024 AS y UNION SELECT 2025 UNION SELECT 2026) y WHERE b.member > 1 AND b.stage = 'boxed'`,
	`INSERT INTO bloom (event, full, stems, way, lat) SELECT id, day, 30, 'natural', 53 FROM event WHERE deed = 'bloom'`,
}

// What the co-op asks of its supply, through the register: 500 members, 10,000 targets, 30,000 blooms on record.
func BenchmarkSupply(b *testing.B) {
	reg, err := register.Open(b.Context(), filepath.Join(b.TempDir(), "shortday.db"))
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, reg.Close()) })
	desk := requests.NewDesk(reg, slog.New(slog.DiscardHandler))
	ask := bot.Ask{Coop: bot.Party{Key: "c", Name: "Tallow Lane Growers"}, Who: bot.Party{Key: "o", Name: "Oona"}, At: time.Date(2027, 6, 1, 19, 0, 0, 0, time.UTC)}
	say := func(b *testing.B, request string) bot.Reply {
		reply := desk.AnswerLine(b.Context(), ask, request)
		require.Nil(b, reply.Refusal, "%s: %v", request, reply.Refusal)
		return reply
	}
	say(b, "/grower place place:53.1,-6.7 zone:Europe/Dublin cover:yes")
	for i := range 60 {
		say(b, fmt.Sprintf(`/variety add name:"Trial %d" like:"%s spray" colour:%s protection:free sure:yes`, i, []string{"early", "mid", "late"}[i%3], []string{"white", "red", "bronze"}[i/3%3]))
	}
	for i, query := range largeCoop {
		var args []any
		if i == 0 {
			args = []any{500}
		}
		_, err := reg.DB().ExecContext(b.Context(), query, args...)
		require.NoError(b, err)
	}
	for i := range 60 {
		say(b, fmt.Sprintf(`/coop promise week:2027-%02d-%02d stems:%d %s`, 9+i%3, 6+7*(i/20), 200+40*i, []string{"", "colour:white", fmt.Sprintf(`variety:"Trial %d"`, i)}[i/3%3]))
	}
	for _, request := range []string{"/coop supply", "/coop supply by:variety", "/coop supply chart:yes", "/coop promise", "/target list for:\"Neighbour 7\"",
		"/target spread from:2027-10-01 until:2027-11-28 stems:500 coop:yes"} {
		b.Run(request[1:], func(b *testing.B) {
			before := reg.Statements()
			for b.Loop() {
				say(b, request)
			}
			b.ReportMetric(float64(reg.Statements()-before)/float64(b.N), "statements")
		})
	}
}
