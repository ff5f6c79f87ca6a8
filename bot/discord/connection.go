// Package discord carries questions and answers between Discord and the bot, and delivers notices there.
// It knows nothing of the trade, and is the only package that imports discordgo.
package discord

import (
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"

	"shortday/knowledge/fault"
)

// Options say where and as whom to connect.
type Options struct {
	Token      string // as the application's Bot page shows it
	URL        string // another REST address, such as a proxy's; Discord's own if empty
	Shards     int    // how many links to open; as Discord advises if zero
	Now        func() time.Time
	Log        *slog.Logger
	Identifies Identifies
}

// Events are told as they come, those of one link in order, on the goroutine that reads the link: they must not block.
// Any may be nil.
type Events struct {
	Linked func(shard, shards int, servers []string) // a link is open; the servers are all those of its shard
	Joined func(server, name string)                 // also for each server after Linked, and after an outage
	Left   func(server string)                       // removed from the server; not told of an outage
	Asked  func(ctx context.Context, turn *Turn)     // on a worker: may block; in order for each person
}

// Connection is the bot's whole connection to Discord: the links that events come by, and the requests sent.
type Connection struct {
	opts   Options
	log    *slog.Logger
	base   *url.URL
	client *http.Client
	files  *http.Client       // for what people send along: without the token
	api    *discordgo.Session // for requests alone, never opened
	budget *budget
	queue  *queue
	events Events
	excess chan *Turn // questions turned away

	mu     sync.Mutex
	self   string            // the bot's own id, which is the application's too
	direct map[string]string // the direct channel with a person
}

// New makes a connection; Run opens it. Requests may be sent before.
func New(opts Options) (*Connection, error) {
	base, err := url.Parse(opts.URL)
	if opts.URL == "" {
		base, err = url.Parse("https://discord.com")
	}
	if err != nil || base.Host == "" || base.Scheme != "http" && base.Scheme != "https" {
		return nil, fault.New(fault.Unclear, "%q is no address of a Discord service: it should look like http://localhost:8080.", opts.URL)
	}
	if base.Scheme == "http" && !loopback(base.Hostname()) {
		return nil, fault.New(fault.Unclear, "%s would be told the bot's token over a line that others can listen in on. Give an address that begins with https://, or one on this machine.", base.Host)
	}
	// As it is copied from elsewhere, it may have a line's end; what stands in errors and is blotted out has none.
	opts.Token = strings.TrimPrefix(strings.TrimSpace(opts.Token), "Bot ")
	if opts.Token == "" {
		return nil, &Final{Code: http.StatusUnauthorized, Text: "There is no Discord token. Set SHORTDAY_TOKEN to the one on the application's Bot page."}
	}
	c := &Connection{
		opts:   opts,
		log:    slog.New(veil{opts.Log.Handler(), opts.Token}),
		base:   base,
		client: &http.Client{Transport: newTransport(base, opts.Now)},
		files:  &http.Client{Transport: http.DefaultTransport.(*http.Transport).Clone()},
		direct: map[string]string{},
		excess: make(chan *Turn, 64),
	}
	c.budget = newBudget(opts.Now, c.log, opts.Identifies)
	c.queue = newQueue(c.log)
	c.api, err = c.session()
	return c, err
}

// loopback tells whether a host is this very machine, which the token may be told in the clear.
func loopback(host string) bool {
	ip, err := netip.ParseAddr(host)
	return host == "localhost" || err == nil && ip.IsLoopback()
}

// session makes a Session that does nothing of its own accord.
func (c *Connection) session() (*discordgo.Session, error) {
	s, err := discordgo.New("Bot " + c.opts.Token)
	if err != nil {
		return nil, err
	}
	s.Client = c.client
	s.StateEnabled, s.Compress = false, false
	s.ShouldReconnectOnError, s.ShouldReconnectVoiceOnSessionError = false, false
	s.ShouldRetryOnRateLimit, s.MaxRestRetries = false, 0
	s.LogLevel = -1 // below errors: we log what is lost, once and without the token
	return s, nil
}

// Run keeps the links open and tells of events until the context ends. It fails only with a *Final.
func (c *Connection) Run(ctx context.Context, events Events) error {
	c.events = events
	var helpers sync.WaitGroup
	defer helpers.Wait()
	inner, stop := context.WithCancel(ctx)
	defer stop()
	helpers.Go(func() { c.queue.run(inner) })
	helpers.Go(func() { c.excuse(inner) })
	if err := c.keepLinks(inner); ctx.Err() == nil {
		return err
	}
	return nil
}
