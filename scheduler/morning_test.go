package scheduler_test

import (
	"context"
	"fmt"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
	"shortday/scheduler"
)

// BenchmarkMorning is a morning on which ten thousand co-ops fall due in the same minute, from the first stroke to the
// last receipt kept, through the real River client.
func BenchmarkMorning(b *testing.B) {
	const coops = 10_000
	var now atomic.Int64
	clock := func() time.Time { return time.Unix(now.Load(), 0).UTC() }
	now.Store(instant(b, "2027-03-01T12:00:00Z").Unix())
	s := newStage(b, clock)
	for from := 0; from < coops; from += 500 {
		require.NoError(b, s.Together(b.Context(), func(ctx context.Context) error {
			for n := from; n < from+500; n++ {
				if err := s.busy(ctx, fmt.Sprint("Quay ", n)); err != nil {
					return err
				}
			}
			return nil
		}))
	}
	var told atomic.Int64
	c := s.config()
	c.Compose = scheduler.Compose
	c.Platform.Deliver = func(context.Context, scheduler.Notice) (scheduler.Receipt, error) {
		told.Add(1)
		return "message", nil
	}
	day := instant(b, "2027-03-02T07:00:00Z")
	var peak uint64
	b.ReportAllocs()
	for b.Loop() {
		told.Store(0)
		now.Store(day.Unix())
		striking, err := scheduler.Start(b.Context(), c)
		require.NoError(b, err)
		for told.Load() < coops && clock().Before(day.Add(time.Hour)) {
			time.Sleep(100 * time.Millisecond)
			var mem runtime.MemStats
			runtime.ReadMemStats(&mem)
			peak = max(peak, mem.HeapInuse)
		}
		require.NoError(b, striking.Stop())
		day = day.AddDate(0, 0, 7) // something else is due by then
	}
	b.ReportMetric(float64(peak)/1e6, "MB-heap")
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/coops*1e6, "µs/notice")
}

// busy begins a co-op with one member and one target, told at seven.
func (s *stage) busy(ctx context.Context, name string) error {
	seat, err := s.Enter(ctx, register.Entry{CoopKey: name, CoopName: name, Key: "nora", Name: "Nora", At: s.now()})
	if err != nil {
		return err
	}
	by := register.Actor{Member: seat.Member.ID, At: s.now()}
	if _, err := s.SetMember(ctx, by, register.Metric, 0, place.Place{Point: place.Point{Lat: 52, Lon: 5}, Zone: "UTC", Exact: true}); err != nil {
		return err
	}
	v, err := s.AddVariety(ctx, by, variety.Variety{Name: "Ember Late", Season: variety.Late, Response: 10})
	if err != nil {
		return err
	}
	_, err = s.SetTarget(ctx, by, v.ID, crop.Target{From: day(s.t, "2027-11-05")}, 40)
	return err
}
