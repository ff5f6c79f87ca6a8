package health_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/health"
)

// stand is a register in miniature.
type stand map[int64]health.Record

func (s stand) look(batch int64) (health.Record, error) { return s[batch], nil }

func (s stand) tie(t health.Tie) {
	for _, batch := range []int64{t.From, t.To} {
		r := s[batch]
		r.Owner = batch / 100
		r.Ties = append(r.Ties, t)
		s[batch] = r
	}
}

func on(manner health.Manner, from, to int64, day calendar.Day) health.Tie {
	return health.Tie{Manner: manner, From: from, To: to, First: day, Last: day}
}

func pest(t require.TestingT, key health.Key) health.Pest {
	p, ok := health.PestOf(key)
	require.True(t, ok)
	return p
}

// Three hops across two seasons, invented. Member 1 boxed stools (100) in November 2026, gave member 2 a box (200) that
// same day and member 3 one (300) in the spring. Member 2 took cuttings (201) in February 2027 and gave member 4 a tray
// (400) in March, whose buds wilt in September. In October 2026, before the trace begins to matter, nothing was passed.
func TestTraceAcrossTwoSeasons(t *testing.T) {
	t.Parallel()
	d := calendar.DayOf
	s := stand{}
	s.tie(on(health.Handed, 100, 500, d(2026, time.August, 20))) // parted before the infection could have been there
	s.tie(on(health.Raised, 500, 501, d(2027, time.March, 1)))
	s.tie(on(health.Handed, 100, 200, d(2026, time.November, 20)))
	s.tie(on(health.Handed, 100, 300, d(2027, time.April, 2)))
	s.tie(on(health.Raised, 200, 201, d(2027, time.February, 1)))
	s.tie(on(health.Handed, 201, 400, d(2027, time.March, 10)))
	s.tie(on(health.Raised, 400, 401, d(2027, time.August, 1)))
	got, err := health.Trace(health.Report{
		Batch: 400, Pest: pest(t, health.Verticillium), Seen: d(2027, time.September, 15),
	}, s.look)
	require.NoError(t, err)
	var lines []string
	for _, x := range got.Suspects {
		lines = append(lines, fmt.Sprintf("%d of %d, %s %s, %d hops", x.Batch, x.Owner, x.Side, x.Day, x.Hops))
	}
	require.Equal(t, []string{
		"201 of 2, source 2027-03-10, 1 hops",
		"401 of 4, target 2027-08-01, 1 hops",
		"200 of 2, source 2027-02-01, 2 hops",
		"100 of 1, source 2026-11-20, 3 hops",
		"300 of 3, target 2027-04-02, 4 hops",
	}, lines)
	require.Equal(t, []health.Tie{
		on(health.Handed, 201, 400, d(2027, time.March, 10)), on(health.Raised, 200, 201, d(2027, time.February, 1)),
		on(health.Handed, 100, 200, d(2026, time.November, 20)), on(health.Handed, 100, 300, d(2027, time.April, 2)),
	}, got.Path(300))
}

func TestTrace(t *testing.T) {
	t.Parallel()
	seen := calendar.DayOf(2027, time.June, 30)
	for _, c := range []struct {
		name string
		ties []health.Tie
		want []string
	}{
		{"on the first day of the hidden period", []health.Tie{on(health.Handed, 2, 1, seen.Add(-56))}, []string{"2 source false"}},
		{"a day before it", []health.Tie{on(health.Handed, 2, 1, seen.Add(-57))}, nil},
		{"where it shows soonest", []health.Tie{on(health.Handed, 2, 1, seen.Add(-14))}, []string{"2 source true"}},
		{"on the last day it may go on", []health.Tie{on(health.Handed, 1, 2, seen.Add(56))}, []string{"2 target true"}},
		{"a day after it", []health.Tie{on(health.Handed, 1, 2, seen.Add(57))}, nil},
		{"what came in after it was seen is no source", []health.Tie{on(health.Handed, 2, 1, seen.Add(1))}, nil},
		{"passed on before it came in", []health.Tie{
			on(health.Handed, 2, 1, seen.Add(-20)), on(health.Handed, 3, 2, seen.Add(-10)),
		}, []string{"2 source false"}},
		{"a sister batch of the same tray", []health.Tie{
			on(health.Raised, 2, 1, seen.Add(-20)), on(health.Raised, 2, 3, seen.Add(-30)), on(health.Raised, 2, 4, seen.Add(-60)),
		}, []string{"2 source false", "3 target false"}},
		{"a neighbour on the bench", []health.Tie{
			{Manner: health.Beside, From: 1, To: 2, First: seen.Add(-100), Last: seen.Add(-40)},
			{Manner: health.Beside, From: 3, To: 1, First: seen.Add(-100), Last: seen.Add(-57)},
			on(health.Raised, 2, 4, seen.Add(-50)),
		}, []string{"2 source false", "4 target false"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := stand{}
			for _, tie := range c.ties {
				s.tie(tie)
			}
			traced, err := health.Trace(health.Report{Batch: 1, Pest: pest(t, health.WhiteRust), Seen: seen}, s.look)
			require.NoError(t, err)
			var got []string
			for _, x := range traced.Suspects {
				got = append(got, fmt.Sprintf("%d %s %t", x.Batch, x.Side, x.Likely))
			}
			require.Equal(t, c.want, got)
		})
	}
}

func TestTraceTellsAFailedLookup(t *testing.T) {
	t.Parallel()
	broken := errors.New("broken")
	_, err := health.Trace(health.Report{Batch: 1, Pest: pest(t, health.Other), Seen: 700000},
		func(int64) (health.Record, error) { return health.Record{}, broken })
	require.ErrorIs(t, err, broken)
}

// reach is what a brute-force walk finds of a batch.
type reach struct {
	hops int
	day  calendar.Day
}

// everywhere walks every way forth from a batch in the order of days.
func everywhere(s stand, batch int64, day, end calendar.Day, hops int, visit func(batch int64, r reach)) {
	visit(batch, reach{hops, day})
	if hops == len(s) {
		return
	}
	for _, t := range s[batch].Ties {
		at := max(day, t.First)
		if at > min(t.Last, end) {
			continue
		}
		if t.From == batch {
			everywhere(s, t.To, at, end, hops+1, visit)
		}
		if t.To == batch && t.Manner == health.Beside {
			everywhere(s, t.From, at, end, hops+1, visit)
		}
	}
}

// brute gives sources and targets: whoever can infect the batch reported, and whoever those can infect.
func brute(s stand, r health.Report, back int) (sources map[int64]int, targets map[int64]reach) {
	since, end := r.Seen.Add(-back), r.Seen.Add(r.Pest.Hidden.Forward)
	sources, targets = map[int64]int{}, map[int64]reach{}
	for batch := range s {
		everywhere(s, batch, since, r.Seen, 0, func(at int64, got reach) {
			if was, ok := sources[batch]; at == r.Batch && (!ok || got.hops < was) {
				sources[batch] = got.hops
			}
		})
	}
	for source, hops := range sources {
		everywhere(s, source, since, end, hops, func(at int64, got reach) {
			if _, source := sources[at]; source {
				return
			}
			was, ok := targets[at]
			if !ok {
				was = got
			}
			targets[at] = reach{min(was.hops, got.hops), min(was.day, got.day)}
		})
	}
	return sources, targets
}

func TestTraceIsABruteForceWalk(t *testing.T) {
	t.Parallel()
	seen := calendar.DayOf(2027, time.June, 30)
	rapid.Check(t, func(t *rapid.T) {
		s := stand{1: {}}
		for range rapid.IntRange(0, 7).Draw(t, "ties") {
			from := rapid.Int64Range(1, 6).Draw(t, "from")
			to := rapid.Int64Range(1, 6).Filter(func(to int64) bool { return to != from }).Draw(t, "to")
			tie := on(rapid.SampledFrom([]health.Manner{health.Raised, health.Handed, health.Beside}).Draw(t, "manner"),
				from, to, seen.Add(rapid.IntRange(-70, 70).Draw(t, "day")))
			if tie.Manner == health.Beside {
				tie.Last = tie.First.Add(rapid.IntRange(0, 60).Draw(t, "stay"))
			}
			s.tie(tie)
		}
		r := health.Report{Batch: 1, Pest: pest(t, health.WhiteRust), Seen: seen}
		sources, targets := brute(s, r, r.Pest.Hidden.BackMax)
		soonSources, soonTargets := brute(s, r, r.Pest.Hidden.BackMin)
		traced, err := health.Trace(r, s.look)
		require.NoError(t, err)
		suspects := traced.Suspects
		require.Len(t, suspects, len(sources)-1+len(targets))
		for i, x := range suspects {
			_, likely := soonSources[x.Batch]
			if _, ok := soonTargets[x.Batch]; ok {
				likely = true
			}
			require.Equal(t, likely, x.Likely)
			path := traced.Path(x.Batch)
			require.Len(t, path, x.Hops)
			if x.Side == health.Source {
				require.Equal(t, sources[x.Batch], x.Hops)
			} else {
				require.Equal(t, targets[x.Batch], reach{x.Hops, x.Day})
			}
			at := int64(1)
			for _, tie := range path {
				require.Contains(t, []int64{tie.From, tie.To}, at, "the path hangs together")
				at = tie.From + tie.To - at
			}
			require.Equal(t, x.Batch, at)
			if i > 0 && suspects[i-1].Likely == x.Likely {
				require.LessOrEqual(t, suspects[i-1].Hops, x.Hops)
			}
		}
	})
}

// nursery is a register of 100,000 batches, each raised from or handed over by one of the few hundred before it.
func nursery(batches int, first calendar.Day, perDay int) stand {
	s := stand{}
	for b := int64(1); b < int64(batches); b++ {
		manner := health.Raised
		if b%3 == 0 {
			manner = health.Handed
		}
		s.tie(on(manner, b-1-(b*7919)%min(b, 300), b, first.Add(int(b)/perDay)))
	}
	return s
}

func BenchmarkTrace(b *testing.B) {
	seen := calendar.DayOf(2027, time.June, 30)
	for _, c := range []struct {
		name   string
		perDay int
		key    health.Key
	}{{"ten years, white rust", 28, health.WhiteRust}, {"all within a season, Verticillium", 500, health.Verticillium}} {
		days := 100_000 / c.perDay
		s := nursery(100_000, seen.Add(-days), c.perDay)
		b.Run(c.name, func(b *testing.B) {
			var n int
			for b.Loop() {
				traced, err := health.Trace(health.Report{Batch: 99_000, Pest: pest(b, c.key), Seen: seen}, s.look)
				require.NoError(b, err)
				n = len(traced.Suspects)
			}
			b.ReportMetric(float64(n), "suspects")
		})
	}
}
