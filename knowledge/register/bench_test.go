package register_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/health"
	"shortday/knowledge/register"
)

const (
	seedMembers = `
WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < $1)
INSERT INTO member (coop, key, name, folded, joined) SELECT 1, 'm' || i, 'Member ' || i, 'member ' || i, i FROM n`
	seedBatches = `
WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 25)
INSERT INTO batch (coop, mark, variety, member, stage, since, count, spot, made)
SELECT 1, '25-' || (m.id * 25 + n.i), $1, m.id, 'boxed', '2025-11-20', 5, 'box', '2025-11-20' FROM member m, n WHERE m.key LIKE 'm%'`
	seedPlans = `
WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 5)
INSERT INTO plan (coop, member, variety, since, bloom_from, bloom_to, made_at)
SELECT 1, m.id, $1, '2025-11-21', '2026-11-0' || n.i, '2026-11-0' || n.i, 0 FROM member m, n WHERE m.key LIKE 'm%'`
	seedJobs = `
WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 20)
INSERT INTO job (plan, kind, coop, member, variety, earliest, likely, latest, due, state)
SELECT p.id, 'step ' || n.i, 1, p.member, p.variety, '2026-01-01', '2026-02-01', '2026-03-01', '2026-' || substr('0' || (1 + n.i % 12), -2) || '-10', 'open' FROM plan p, n`
	seedEvents = `
INSERT INTO event (coop, member, by_member, variety, deed, day, at) SELECT 1, b.member, b.member, b.variety, 'add', '2025-11-20', 0 FROM batch b`
)

// seeded is a register with so many batches, 25 a member.
func seeded(b *testing.B, batches int) (*garden, int64) {
	b.Helper()
	g := plant(b)
	for _, query := range []string{seedMembers, seedBatches, seedPlans, seedJobs, seedEvents} {
		var args []any
		switch query {
		case seedMembers:
			args = []any{batches / 25}
		case seedBatches, seedPlans:
			args = []any{g.late.ID}
		}
		_, err := g.DB().ExecContext(b.Context(), query, args...)
		require.NoError(b, err)
	}
	return g, g.piet.ID + int64(batches/25)/2
}

func BenchmarkReads(b *testing.B) {
	for _, size := range []int{1_000, 100_000} {
		g, member := seeded(b, size)
		plans, err := g.Plans(b.Context(), member, 0)
		require.NoError(b, err)
		for name, read := range map[string]func() (int, error){
			"due": func() (int, error) {
				jobs, err := g.Due(b.Context(), member, calendar.DayOf(2026, 3, 1))
				return len(jobs), err
			},
			"care": func() (int, error) {
				_, err := g.Care(b.Context(), member, calendar.DayOf(2026, 3, 1), calendar.DayOf(2026, 3, 1))
				return 1, err
			},
			"stock": func() (int, error) { all, err := g.Batches(b.Context(), member, 0); return len(all), err },
			"plan": func() (int, error) {
				r, err := g.Reckon(b.Context(), plans[0].ID, calendar.DayOf(2026, 1, 10))
				return len(r.Crop.Steps), err
			},
		} {
			b.Run(fmt.Sprintf("%s/%d", name, size), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					n, err := read()
					require.NoError(b, err)
					require.Positive(b, n)
				}
			})
		}
	}
}

func BenchmarkDone(b *testing.B) {
	for _, size := range []int{1_000, 100_000} {
		g, _ := seeded(b, size)
		p, err := g.SetTarget(b.Context(), g.by(g.nora, "2026-01-10"), g.late.ID, crop.Target{From: day(b, "2026-11-05")}, 40)
		require.NoError(b, err)
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			for b.Loop() {
				out, err := g.Done(b.Context(), g.by(g.nora, "2026-06-20"), register.Step{Plan: p.Plan.ID, Kind: crop.Stop})
				require.NoError(b, err)
				_, err = g.Undo(b.Context(), g.by(g.nora, "2026-06-20"), out.Event.ID, "")
				require.NoError(b, err)
			}
		})
	}
}

func BenchmarkOpen(b *testing.B) {
	g := plant(b)
	require.NoError(b, g.Close())
	for b.Loop() {
		r, err := register.Open(b.Context(), g.path)
		require.NoError(b, err)
		require.NoError(b, r.Close())
	}
}

const (
	// seedLine is a nursery of so many batches made within so many days up to 30 June 2027, each raised from, or handed
	// over by, one of the few hundred before it, on benches of about twenty.
	seedLine = `
WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < $1)
INSERT INTO batch (id, coop, mark, variety, member, stage, since, count, spot, parent, made)
SELECT 1000000 + i, 1, '99-' || i, $2, $3 + i % 400, 'potted', day, 12, 'bench ' || (i / 400 % 13), CASE WHEN i > 1 THEN 999999 + i - (i * 7919) % min(i - 1, 300) END, day
FROM (SELECT i, date('2027-06-30', '-' || (($1 - i) * $4 / $1) || ' days') AS day FROM n)`
	seedReport = `
INSERT INTO report (id, coop, member, pest, sure, seen, since, aloud) VALUES (1, $1, $2, $3, 'saw', $4, $5, 'silent');
INSERT INTO hold (batch, report, why, since, last) VALUES ($6, 1, 'seen', $4, $4)`
)

func BenchmarkTrace(b *testing.B) {
	for _, c := range []struct {
		name string
		days int
		pest health.Key
	}{{"ten years, white rust", 3650, health.WhiteRust}, {"ten years, Verticillium", 3650, health.Verticillium}, {"all within a season, Verticillium", 365, health.Verticillium}} {
		g := plant(b)
		for _, q := range []struct {
			query string
			args  []any
		}{{seedMembers, []any{400}}, {seedLine, []any{100_000, g.late.ID, g.piet.ID + 1, c.days}}} {
			_, err := g.DB().ExecContext(b.Context(), q.query, q.args...)
			require.NoError(b, err)
		}
		last, err := g.Batch(b.Context(), 1_099_000)
		require.NoError(b, err)
		pest, _ := health.PestOf(c.pest)
		rep := register.Report{Coop: g.nora.Coop, Pest: c.pest, Seen: day(b, "2027-06-30"), Since: day(b, "2027-06-30").Add(-pest.Hidden.BackMax), Batches: []register.Batch{last}}
		b.Run(c.name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				n, err = g.Traced(b.Context(), rep)
				require.NoError(b, err)
			}
			b.ReportMetric(float64(n), "suspects")
		})
		_, err = g.DB().ExecContext(b.Context(), seedReport, rep.Coop, g.piet.ID, string(c.pest), rep.Seen.String(), rep.Since.String(), last.ID)
		require.NoError(b, err)
		for whose, member := range map[string]int64{"shown to all of them": 0, "shown to one member": last.Member} {
			if c.days < 3650 && member == 0 {
				continue // a hundred thousand, each with its way of hundreds of hops
			}
			b.Run(c.name+", "+whose, func(b *testing.B) {
				before, n := g.Statements(), 0
				for b.Loop() {
					trail, err := g.Trace(b.Context(), 1, member)
					require.NoError(b, err)
					n = len(trail.Suspects) + trail.Gone
				}
				b.ReportMetric(float64(n), "suspects")
				b.ReportMetric(float64(g.Statements()-before)/float64(b.N), "statements")
			})
		}
	}
}
