// Package page shows a stand-in Discord on a plain web page of this machine alone, where one person can play several
// members. It knows nothing of the bot that answers there.
package page

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"net"
	"net/http"
	"sync"
	"time"

	"shortday/bot/discord/discordtest"
	"shortday/knowledge/fault"
)

//go:embed asset
var assets embed.FS

// What the page bounds: requests that wait for an answer, watchers that wait for news, open forms, people in a server,
// messages shown, and bytes of what is sent.
const (
	mostAsked    = 16
	mostWatching = 32
	mostForms    = 64
	mostPeople   = 60
	mostShown    = 100
	mostSent     = 32 << 20
	mostFile     = 10 << 20
)

// Clock is the time of a rehearsal.
type Clock interface {
	Now() time.Time
	Pass(d time.Duration) // puts it forward
}

// Page shows one service.
type Page struct {
	service *discordtest.Service
	clock   Clock
	pages   *template.Template
	asked   chan struct{} // holds one for each request that waits for an answer
	watched chan struct{} // and for each watcher

	mu    sync.Mutex
	forms map[string]opened
	order []string // of the forms, oldest first
	count int      // of forms ever opened
}

// New makes a page for a service that goes by a clock.
func New(service *discordtest.Service, clock Clock) *Page {
	return &Page{
		service: service, clock: clock, pages: template.Must(template.ParseFS(assets, "asset/*.html")),
		asked: make(chan struct{}, mostAsked), watched: make(chan struct{}, mostWatching), forms: map[string]opened{},
	}
}

// Listen opens an address of this machine alone; anything else is refused, since the page lets everybody in.
func Listen(ctx context.Context, address string) (net.Listener, error) {
	host, _, err := net.SplitHostPort(address)
	if ip := net.ParseIP(host); err != nil || host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, fault.New(fault.Unclear, "%q is no address of this machine alone, and the page lets everybody in. Write one such as 127.0.0.1:8472.", address)
	}
	var config net.ListenConfig
	listener, err := config.Listen(ctx, "tcp", address)
	if err != nil {
		return nil, fault.New(fault.Taken, "The page cannot be served at %s. Give another address, or 127.0.0.1:0 for any that is free.", address).Because(err)
	}
	return listener, nil
}

// Serve serves the page until the context ends.
func (p *Page) Serve(ctx context.Context, listener net.Listener) error {
	server := &http.Server{
		Handler: p.handler(listener.Addr()), BaseContext: func(net.Listener) context.Context { return ctx },
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 2 * time.Minute, MaxHeaderBytes: 1 << 14,
	}
	ended := context.AfterFunc(ctx, func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
		defer cancel()
		if server.Shutdown(last) != nil {
			_ = server.Close()
		}
	})
	defer ended()
	if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("serving the page: %w", err)
	}
	return nil
}

func (p *Page) handler(at net.Addr) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", p.index)
	mux.HandleFunc("GET /page.js", p.asset("text/javascript; charset=utf-8"))
	mux.HandleFunc("GET /page.css", p.asset("text/css; charset=utf-8"))
	mux.HandleFunc("GET /state", p.watch)
	mux.HandleFunc("GET /requests", p.requests)
	mux.HandleFunc("GET /file/{message}/{file}", p.file)
	mux.HandleFunc("POST /ask", p.deed(p.ask))
	mux.HandleFunc("POST /complete", p.deed(p.complete))
	mux.HandleFunc("POST /press", p.deed(p.press))
	mux.HandleFunc("POST /submit", p.deed(p.submit))
	mux.HandleFunc("POST /member", p.deed(p.member))
	mux.HandleFunc("POST /right", p.deed(p.right))
	mux.HandleFunc("POST /pass", p.deed(p.pass))
	return guard(hosts(at), mux)
}

func (p *Page) index(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_ = p.pages.ExecuteTemplate(w, "page.html", nil) // the page is whole, or its reader is gone
}

// asset serves an embedded file under its own name.
func (p *Page) asset(kind string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		data, err := assets.ReadFile("asset" + r.URL.Path)
		if err != nil {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", kind)
		_, _ = w.Write(data)
	}
}
