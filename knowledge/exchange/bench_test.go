package exchange_test

import (
	"fmt"
	"testing"

	"shortday/knowledge/exchange"
)

func BenchmarkMatch(b *testing.B) {
	for _, sharing := range []exchange.Sharing{{}, {Balanced: true, Credit: 5}} {
		for _, members := range []int{50, 500, 5000} {
			m := village(1, members, sharing)
			b.Run(fmt.Sprintf("balanced=%v/members=%d", sharing.Balanced, members), func(b *testing.B) {
				var r exchange.Result
				for b.Loop() {
					r = exchange.Match(m)
				}
				b.ReportMetric(float64(r.Score.Units), "units")
				b.ReportMetric(float64(len(r.Proposals)), "proposals")
			})
		}
	}
}
