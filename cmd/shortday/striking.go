package main

import (
	"context"
	"errors"
	"net"
	"net/http"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"shortday/knowledge/fault"
	"shortday/scheduler"
)

// striking is what the commands share that strike a register.
type striking struct {
	Metrics string `placeholder:"ADDRESS" help:"Serve figures for Prometheus there, at /metrics, and whether all is well at /healthz: at :9464 for this machine alone, at 0.0.0.0:9464 for every other too."`
}

// figuresAt is where figures are served: a port alone is one of this machine alone.
func (s *striking) figuresAt() string {
	if strings.HasPrefix(s.Metrics, ":") {
		return "127.0.0.1" + s.Metrics
	}
	return s.Metrics
}

// strike begins to strike as configured, by the program's clock, and gives what ends it.
func (s *striking) strike(p *program, c scheduler.Config) (stop func() error, err error) {
	c.Compose, c.Now, c.Moved, c.Log = scheduler.Compose, p.now, p.moved, p.log
	struck, err := scheduler.Start(p, c)
	if err != nil {
		return nil, err
	}
	shut, err := s.show(p, struck)
	if err != nil {
		return nil, errors.Join(err, struck.Stop())
	}
	return func() error { return errors.Join(struck.Stop(), shut()) }, nil
}

// show serves figures and health over HTTP where an address was given, and gives what ends that.
func (s *striking) show(p *program, struck *scheduler.Striking) (shut func() error, err error) {
	if s.Metrics == "" {
		return func() error { return nil }, nil
	}
	listener, err := (&net.ListenConfig{}).Listen(p, "tcp", s.figuresAt())
	if err != nil {
		return nil, fault.New(fault.Unclear, "Figures cannot be served at %s. Give an address of this computer with a free port, such as 127.0.0.1:9400.", s.Metrics).Because(err)
	}
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(struck.Figures(), promhttp.HandlerOpts{}))
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, r *http.Request) { health(w, r, struck) })
	server := &http.Server{Handler: mux, ReadHeaderTimeout: 5 * time.Second}
	go func() {
		if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			p.log.Error("figures are served no more", "err", err)
		}
	}()
	if at := listener.Addr().String(); alone(at) {
		p.log.Info("figures are served", "at", at)
	} else {
		p.log.Warn("figures are served to other machines too: whoever reaches the address reads them, and nobody is asked for a word", "at", at)
	}
	return server.Close, nil
}

func health(w http.ResponseWriter, r *http.Request, struck *scheduler.Striking) {
	ctx, cancel := context.WithTimeout(r.Context(), 2*time.Second)
	defer cancel()
	if err := struck.Health(ctx); err != nil {
		http.Error(w, err.Error(), http.StatusServiceUnavailable)
		return
	}
	_, _ = w.Write([]byte("All is well.\n")) // who asked may be gone
}
