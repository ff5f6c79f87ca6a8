package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"shortday/bot/ical"
	"shortday/bot/requests"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// feed serves the members' calendars, each under an address of its own.
type feed struct {
	Feed    string `placeholder:"ADDRESS" help:"Serve the members' calendars at this address of this machine, such as 127.0.0.1:8470."`
	FeedURL string `name:"feed-url" placeholder:"URL" help:"How the calendars are reached from outside, through a web server with TLS: https://dates.example.org."`
}

// run serves until the context ends; without an address it only keeps that there is none.
func (f feed) run(ctx context.Context, p *program, reg *register.Register) error {
	base, err := f.base()
	if err != nil {
		return err
	}
	if err := reg.ServeFeeds(ctx, base); err != nil || f.Feed == "" {
		return unlessOver(ctx, err)
	}
	var listener net.ListenConfig
	open, err := listener.Listen(ctx, "tcp", f.Feed)
	if ctx.Err() != nil {
		return nil
	}
	if err != nil {
		return fault.New(fault.Taken, "Calendars cannot be served at %s. Give another --feed.", f.Feed).Because(err)
	}
	find := func(ctx context.Context, word string) ([]byte, bool, error) {
		file, found, err := requests.FeedFile(ctx, reg, word, p.now())
		return file.Data, found, err
	}
	p.log.Info("calendars are served", "at", open.Addr().String(), "reached", base)
	server := &http.Server{Handler: ical.Feed(find, p.log), ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second, MaxHeaderBytes: 1 << 14}
	answered := make(chan struct{})
	ended := context.AfterFunc(ctx, func() {
		defer close(answered)
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
		defer cancel()
		_ = server.Shutdown(last)
	})
	defer ended()
	if err := server.Serve(open); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("serving calendars: %w", err)
	}
	<-answered // what is being read still takes the register
	return nil
}

// unlessOver gives an error only while the program goes on: its end ends what is under way.
func unlessOver(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return nil
	}
	return err
}

// alone tells whether an address is one of this machine that no other reaches.
func alone(address string) bool {
	host, _, err := net.SplitHostPort(address)
	ip := net.ParseIP(host)
	return err == nil && (host == "localhost" || ip != nil && ip.IsLoopback())
}

// base gives the address that members are told, "" where nothing is served. What is not on this machine alone is refused,
// since without TLS everyone on the way could read along.
func (f feed) base() (string, error) {
	if f.Feed == "" {
		if f.FeedURL != "" {
			return "", fault.New(fault.Unclear, "--feed-url says how calendars are reached; --feed has to say where they are served, as in --feed 127.0.0.1:8470.")
		}
		return "", nil
	}
	if !alone(f.Feed) {
		return "", fault.New(fault.Unclear, "%q is no address of this machine alone. Write --feed 127.0.0.1:8470, and put a web server with TLS before it.", f.Feed)
	}
	if f.FeedURL == "" {
		return "http://" + f.Feed, nil
	}
	at, err := url.Parse(f.FeedURL)
	if err != nil || at.Scheme != "https" && at.Scheme != "http" || at.Host == "" || at.RawQuery != "" || at.Fragment != "" {
		return "", fault.New(fault.Unclear, "%q is no address that a calendar can subscribe to. Write it as in --feed-url https://dates.example.org.", f.FeedURL)
	}
	return strings.TrimSuffix(f.FeedURL, "/"), nil
}
