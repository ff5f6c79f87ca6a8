package scheduler

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// figures count what becomes of notices.
type figures struct {
	registry                         *prometheus.Registry
	due, sent, late, failed, givenUp prometheus.Counter
	seconds                          prometheus.Histogram
}

func newFigures() *figures {
	counter := func(name, help string) prometheus.Counter {
		return prometheus.NewCounter(prometheus.CounterOpts{Namespace: "shortday", Subsystem: "notices", Name: name, Help: help})
	}
	f := &figures{
		registry: prometheus.NewRegistry(),
		due:      counter("due_total", "Notices that fell due."),
		sent:     counter("sent_total", "Notices whose receipt is kept."),
		late:     counter("late_total", "Notices sent more than five minutes after they fell due."),
		failed:   counter("failed_total", "Attempts that failed."),
		givenUp:  counter("given_up_total", "Notices that could not be sent and no longer will be."),
		seconds: prometheus.NewHistogram(prometheus.HistogramOpts{Namespace: "shortday", Subsystem: "notices", Name: "seconds",
			Help: "Seconds from due to sent.", Buckets: prometheus.ExponentialBuckets(1, 4, 9)}),
	}
	f.registry.MustRegister(f.due, f.sent, f.late, f.failed, f.givenUp, f.seconds)
	return f
}

func (f *figures) told(after time.Duration) {
	f.sent.Inc()
	f.seconds.Observe(after.Seconds())
	if after > lateAfter {
		f.late.Inc()
	}
}
