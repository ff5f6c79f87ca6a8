package discord_test

import (
	"bytes"
	"context"
	"flag"
	"log/slog"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/stretchr/testify/require"

	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
)

// long runs the tests that take minutes.
var long = flag.Bool("long", false, "run the tests that take minutes")

// quiet adds what can be measured only on a machine that does nothing else.
var quiet = flag.Bool("quiet", false, "hold what takes a machine that does nothing else")

// TestMain lets many tests run side by side: nearly all they do is wait.
func TestMain(m *testing.M) {
	flag.Parse()
	_ = flag.Set("test.parallel", "64")
	os.Exit(m.Run())
}

// schema is Discord's published description, where SHORTDAY_OPENAPI names its file.
var schema = sync.OnceValues(func() (*discordtest.Schema, error) {
	if path := os.Getenv("SHORTDAY_OPENAPI"); path != "" {
		return discordtest.LoadSchema(path)
	}
	return nil, nil
})

func TestPublishedDescriptionIsAtHand(t *testing.T) {
	t.Parallel()
	loaded, err := schema()
	require.NoError(t, err)
	if loaded == nil {
		t.Skip("SHORTDAY_OPENAPI does not name Discord's published description: what is sent is checked against our own list alone.")
	}
}

// recovery is how soon all must be well again.
const recovery = 10 * time.Second

// log is a log to look into while it is written.
type log struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// bench is a service and a connection to it that answers whatever is asked.
type bench struct {
	service *discordtest.Service
	conn    *discord.Connection
	log     *log
	guild   *discordtest.Guild
	channel *discordtest.Channel
	member  *discordtest.Member
	ended   chan error
}

// ping is the one command of these tests.
var ping = []*discordgo.ApplicationCommand{{Name: "ping", Description: "Answers", Options: []*discordgo.ApplicationCommandOption{
	{Type: discordgo.ApplicationCommandOptionString, Name: "text", Description: "What to say", Autocomplete: true},
}}}

func serve(t *testing.T, opts discordtest.Options) *discordtest.Service {
	t.Helper()
	loaded, err := schema()
	require.NoError(t, err)
	opts.Now, opts.Schema = time.Now, loaded
	return discordtest.New(t, opts)
}

// dial makes a connection to the service that is not running yet.
func dial(t *testing.T, s *discordtest.Service, opts discord.Options) *bench {
	t.Helper()
	b := &bench{service: s, log: &log{}, ended: make(chan error, 1)}
	b.guild = s.AddGuild("Weir Lane Growers")
	b.channel = b.guild.AddChannel("swaps")
	b.member = b.guild.AddMember("Orla", 0)
	opts.Token, opts.URL, opts.Now = " "+discordtest.Token+"\n", s.URL(), time.Now // as it stands in a file
	opts.Log = slog.New(slog.NewTextHandler(b.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	conn, err := discord.New(opts)
	require.NoError(t, err)
	b.conn = conn
	t.Cleanup(func() { require.NotContains(t, b.log.String(), discordtest.Token) })
	return b
}

// run starts the connection; it ends with the test.
func (b *bench) run(t *testing.T, events discord.Events) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	var running sync.WaitGroup
	running.Go(func() { b.ended <- b.conn.Run(ctx, events) })
	t.Cleanup(func() {
		cancel()
		running.Wait()
	})
}

// echo answers each question with its own text.
func echo(ctx context.Context, turn *discord.Turn) {
	text := "pong"
	if data, ok := turn.Interaction.Data.(discordgo.ApplicationCommandInteractionData); ok {
		if o := data.GetOption("text"); o != nil {
			text, _ = o.Value.(string)
		}
	}
	_ = turn.Say(ctx, text, false)
}

// start gives a running bench with its command registered and its link open.
func start(t *testing.T, opts discordtest.Options) *bench {
	t.Helper()
	b := dial(t, serve(t, opts), discord.Options{})
	_, err := b.conn.Register(t.Context(), ping)
	require.NoError(t, err)
	b.run(t, discord.Events{Asked: echo})
	require.NoError(t, b.service.AwaitReady(1, recovery))
	return b
}

// answers requires that a question is answered.
func (b *bench) answers(t *testing.T) {
	t.Helper()
	asked, err := b.member.Slash(b.channel, "/ping", discordtest.Values{"text": "hello"})
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err, b.log)
	require.Equal(t, "hello", got.Content)
}

// keyed is a notice with a button to carry its key.
func keyed(key, text string) discord.Post {
	return discord.Post{Key: key, Text: text, Rows: []discordgo.ActionsRow{{Components: []discordgo.MessageComponent{
		discordgo.Button{Label: "What is due", CustomID: "/job due"},
	}}}}
}
