package page_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
	"shortday/bot/discord/discordtest/page"
	"shortday/knowledge/fault"
)

const within = 20 * time.Second

// bench is a page over a server with three members, where a bot of a few invented requests answers.
type bench struct {
	service         *discordtest.Service
	guild           *discordtest.Guild
	talk            *discordtest.Channel
	orla, tam, ines *discordtest.Member
	adapter         *discord.Adapter
	clock           *clock
	url             string
	gate            chan struct{} // what "/shelf wait" waits for
}

func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{clock: &clock{}, gate: make(chan struct{})}
	b.service = discordtest.New(t, discordtest.Options{Now: time.Now, Dated: b.clock.Now})
	b.guild = b.service.Settle("", "Weir Lane Growers", "general", "notices")
	b.talk = b.guild.Channels()[0]
	b.orla, b.tam, b.ines = b.guild.AddMember("Orla", discordtest.ManageServer), b.guild.AddMember("Tam", 0), b.guild.AddMember("Ines", 0)
	quiet := slog.New(slog.DiscardHandler)
	conn, err := discord.New(discord.Options{Token: discordtest.Token, URL: b.service.URL(), Now: time.Now, Log: quiet})
	require.NoError(t, err)
	standing := func(context.Context, bot.Ask) (bot.Standing, error) { return bot.Standing{Right: bot.Member}, nil }
	homes := discord.Homes{Coops: func(context.Context, string) ([]bot.Party, error) {
		return []bot.Party{{Key: b.guild.ID, Name: b.guild.Name}}, nil
	}}
	b.adapter = discord.NewAdapter(conn, bot.NewDesk(b.families(), standing, quiet), kept(), homes, discord.Servers{})
	ctx, stop := context.WithCancel(context.Background())
	listener, err := page.Listen(ctx, "127.0.0.1:0")
	require.NoError(t, err)
	b.url = "http://" + listener.Addr().String()
	var running sync.WaitGroup
	running.Go(func() { _ = b.adapter.Serve(ctx, discord.Events{}) })
	running.Go(func() { _ = page.New(b.service, b.clock).Serve(ctx, listener) })
	t.Cleanup(func() {
		stop()
		running.Wait()
	})
	require.NoError(t, b.service.AwaitReady(1, within))
	require.NoError(t, b.service.AwaitCommands(within))
	return b
}

// clock begins on a day of its own.
type clock struct{ passed atomic.Int64 }

func (c *clock) Now() time.Time {
	return time.Date(2027, 3, 1, 6, 0, 0, 0, time.UTC).Add(time.Duration(c.passed.Load()))
}

func (c *clock) Pass(d time.Duration) { c.passed.Add(int64(d)) }

// kept keeps requests in memory.
func kept() discord.Requests {
	var mu sync.Mutex
	all := map[string]discord.Kept{}
	return discord.Requests{
		Keep: func(_ context.Context, k discord.Kept) (string, error) {
			mu.Lock()
			defer mu.Unlock()
			key := discord.NewKey()
			all[key] = k
			return key, nil
		},
		Kept: func(_ context.Context, key string) (discord.Kept, bool, error) {
			mu.Lock()
			defer mu.Unlock()
			k, found := all[key]
			return k, found, nil
		},
	}
}

// families are the invented requests: of each kind of answer one.
func (b *bench) families() []bot.Family {
	most, least := 99.0, 1.0
	name := bot.Field{Name: "name", Help: "what it is called", Kind: bot.NamedKind, Required: true, Complete: func(_ context.Context, _ *bot.In, typed string) ([]bot.Choice, error) {
		var list []bot.Choice
		for _, c := range bot.Choices("Ember Late", "Emberglow", "Frost Lantern") {
			if strings.HasPrefix(strings.ToLower(c.Label), strings.ToLower(typed)) {
				list = append(list, c)
			}
		}
		return list, nil
	}}
	count := bot.Field{Name: "count", Help: "how many", Kind: bot.WholeKind, Required: true, Min: &least, Max: &most}
	note := bot.Field{Name: "note", Help: "whatever else is to be said", Kind: bot.LongTextKind}
	say := func(text string, next ...bot.Next) (bot.Reply, error) {
		return bot.Reply{Title: "Shelf", Text: text, Next: next}, nil
	}
	var many []bot.Next
	for _, what := range []string{"first", "second", "third", "fourth", "fifth", "sixth"} {
		many = append(many, bot.Next{Label: "Look at the " + what, Request: "/shelf look at:" + what})
	}
	return []bot.Family{{Name: "shelf", Help: "What stands on the shelf", Requests: []bot.Request{
		{Name: "put", Help: "Put something there", Examples: []string{"/shelf put name:Ember count:3"}, Fields: []bot.Field{name, count, note}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
			return say(fmt.Sprintf("%d of %s stand there. %s", in.Whole("count"), in.Text("name"), in.Text("note")), bot.Next{Label: "Put more", Request: "/shelf put"}, bot.Next{Label: "Show all", Request: "/shelf list"})
		}},
		{Name: "list", Help: "What stands there", Examples: []string{"/shelf list"}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
			r := bot.Reply{Title: "All", Next: many, Rows: bot.Table{Columns: bot.Columns("name", "count")}}
			r.Rows.Add(bot.Text("Ember Late"), bot.Text("12"))
			return r, nil
		}},
		{Name: "look", Help: "Look at one thing", Examples: []string{"/shelf look at:first"}, Fields: []bot.Field{{Name: "at", Help: "which", Kind: bot.TextKind, Required: true}}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
			return say("This is the " + in.Text("at") + ".")
		}},
		{Name: "mine", Help: "What is nobody else's business", Examples: []string{"/shelf mine"}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
			return bot.Reply{Text: "A secret of " + in.Who.Name, Private: true, Files: []bot.File{{Name: "secret.txt", Type: "text/plain", Alt: "the secret", Data: []byte("under the bench")}}}, nil
		}},
		{Name: "chart", Help: "A picture of it", Examples: []string{"/shelf chart"}, Handle: func(context.Context, *bot.In) (bot.Reply, error) {
			return bot.Reply{Title: "Chart", Files: []bot.File{{Name: "chart.png", Type: "image/png", Alt: "a green field", Data: drawing()}}}, nil
		}},
		{Name: "read", Help: "Read a file", Examples: []string{"/shelf read list:a.csv"}, Fields: []bot.Field{{Name: "list", Help: "a file to read", Kind: bot.FileKind, Required: true}}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
			f := in.File("list")
			return say(fmt.Sprintf("%s says %q.", f.Name, f.Data))
		}},
		{Name: "give", Help: "Give it to somebody", Examples: []string{"/shelf give to:Tam"}, Fields: []bot.Field{{Name: "to", Help: "who gets it", Kind: bot.MemberKind, Required: true}}, Handle: func(_ context.Context, in *bot.In) (bot.Reply, error) {
			return say("Given.")
		}},
		{Name: "wait", Help: "Take a long time", Examples: []string{"/shelf wait"}, Handle: func(ctx context.Context, _ *bot.In) (bot.Reply, error) {
			select {
			case <-b.gate:
				return say("At last.")
			case <-ctx.Done():
				return bot.Reply{}, fault.New(fault.Later, "It took too long.")
			}
		}},
	}}}
}

func drawing() []byte {
	field := image.NewRGBA(image.Rect(0, 0, 320, 120))
	for x := range 320 {
		for y := range 120 {
			field.Set(x, y, color.RGBA{uint8(60 + x/4), 120, uint8(40 + y), 255})
		}
	}
	var out bytes.Buffer
	_ = png.Encode(&out, field) // a buffer takes all
	return out.Bytes()
}

func (b *bench) key(m *discordtest.Member) string { return b.guild.ID + "." + m.User.ID }

// seen is what the page is told of a state.
type seen struct {
	Stamp, Time, Server, As, In, Requests string
	Linked                                bool
	Older                                 int
	Members                               []struct {
		Key, Name string
		Manages   bool
		Direct    int
	}
	Places []struct {
		Key, Name string
		Count     int
	}
	Cards []struct{ ID, Stamp, HTML string }
}

func (s seen) html() string {
	var all string
	for _, c := range s.Cards {
		all += c.HTML
	}
	return all
}

// fetch sends a request with headers, and gives its answer whole.
func fetch(t *testing.T, method, address string, body io.Reader, headers map[string]string) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, address, body)
	require.NoError(t, err)
	for name, value := range headers {
		r.Header.Set(name, value)
		if name == "Host" {
			r.Host = value
		}
	}
	resp, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer func() { _ = resp.Body.Close() }()
	data, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	return resp, string(data)
}

// state gives what a member sees in a place.
func (b *bench) state(t *testing.T, m *discordtest.Member, in string) (s seen) {
	t.Helper()
	resp, text := fetch(t, http.MethodGet, b.url+"/state?"+url.Values{"as": {b.key(m)}, "in": {in}}.Encode(), nil, nil)
	require.Equal(t, http.StatusOK, resp.StatusCode, text)
	require.NoError(t, json.Unmarshal([]byte(text), &s))
	return s
}

// awaitCard waits until a member sees words in a place.
func (b *bench) awaitCard(t *testing.T, m *discordtest.Member, in, words string) (s seen) {
	t.Helper()
	require.Eventually(t, func() bool {
		s = b.state(t, m, in)
		return strings.Contains(s.html(), words)
	}, within, 20*time.Millisecond, words)
	return s
}

// told is what the page is told of a deed.
type told struct {
	Status int
	Note   string
	Key    string
	Form   *struct {
		ID, Title string
		Inputs    []struct {
			Label, Hint, Value string
			Long, Required     bool
		}
	}
	Choices []struct{ Name, Value string }
}

// post does a deed as the page would.
func (b *bench) post(t *testing.T, path string, m *discordtest.Member, in string, fields ...string) (out told) {
	t.Helper()
	body, kind := parts(t, append([]string{"as", b.key(m), "in", in}, fields...), "", nil)
	resp, text := fetch(t, http.MethodPost, b.url+path, body, map[string]string{"Origin": b.url, "Content-Type": kind})
	require.NoError(t, json.Unmarshal([]byte(text), &out), text)
	out.Status = resp.StatusCode
	return out
}

// parts writes fields, and a file if its name is given, as a browser does.
func parts(t *testing.T, fields []string, name string, data []byte) (io.Reader, string) {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(fields); i += 2 {
		require.NoError(t, w.WriteField(fields[i], fields[i+1]))
	}
	if name != "" {
		file, err := w.CreateFormFile("f.list", name)
		require.NoError(t, err)
		_, err = file.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return &body, w.FormDataContentType()
}
