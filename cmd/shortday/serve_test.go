package main

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/discord/discordtest"
	"shortday/knowledge/register"
)

// output is what a program wrote, to be looked into while it runs.
type output struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.Write(p)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.String()
}

// inRealSeconds leaves a test to the step of its own that has no race detector.
func inRealSeconds(t *testing.T) {
	t.Helper()
	if raced {
		t.Skip("without the race detector")
	}
}

// serving is the whole program, serving a stand-in.
type serving struct {
	service *discordtest.Service
	env     map[string]string
	log     output
	end     func() int // stops it and gives its exit status
}

const within = 15 * time.Second

func newServing(t *testing.T) *serving {
	t.Helper()
	s := &serving{service: discordtest.New(t, discordtest.Options{Now: time.Now})}
	s.env = map[string]string{
		"SHORTDAY_TOKEN": discordtest.Token, "SHORTDAY_DISCORD_URL": s.service.URL(), "SHORTDAY_DB": filepath.Join(t.TempDir(), "shortday.db"),
	}
	t.Cleanup(func() { require.NotContains(t, s.log.String(), discordtest.Token) })
	return s
}

func (s *serving) start(t *testing.T, args ...string) {
	t.Helper()
	require.NoError(t, s.service.AwaitUnlinked(within), "of a run before")
	s.begin(t, append([]string{"serve"}, args...)...)
	require.NoError(t, s.service.AwaitReady(1, within), &s.log)
	require.NoError(t, s.service.AwaitCommands(within), &s.log)
}

// begin starts the program.
func (s *serving) begin(t *testing.T, args ...string) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan int, 1)
	go func() { ended <- s.run(ctx, args...) }()
	s.end = sync.OnceValue(func() int {
		cancel()
		return <-ended
	})
	t.Cleanup(func() { s.end() })
}

func (s *serving) run(ctx context.Context, args ...string) int {
	return run(ctx, args, func(name string) string { return s.env[name] }, strings.NewReader(""), &s.log, &s.log)
}

func slash(t *testing.T, m *discordtest.Member, in *discordtest.Channel, command string, values discordtest.Values) discordtest.Message {
	t.Helper()
	asked, err := m.Slash(in, command, values)
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err)
	return got
}

// TestServe: a server is greeted once, its co-op begins there, and a restart and a removal change nothing of it.
func TestServe(t *testing.T) {
	t.Parallel()
	inRealSeconds(t)
	s := newServing(t)
	guild := s.service.AddGuild("Weir Lane Growers")
	channel := guild.AddChannel("talk")
	orla, tam := guild.AddMember("Orla", discordtest.ManageServer), guild.AddMember("Tam", 0)
	s.start(t)
	greeted, err := channel.AwaitMessages(1, within)
	require.NoError(t, err, &s.log)
	require.Contains(t, greeted[0].Text(), "Good day, Weir Lane Growers")

	require.Contains(t, slash(t, tam, channel, "/coop setup", nil).Text(), "Only a steward")
	require.Contains(t, slash(t, tam, channel, "/variety add", discordtest.Values{"name": "Ember Late", "season": "late"}).Text(), "Ember Late")
	require.Contains(t, slash(t, tam, channel, "/coop setup", nil).Text(), "Only a steward", "being first makes none")
	pressed, err := orla.Press(greeted[0], "Set the co-op up")
	require.NoError(t, err)
	got, err := pressed.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Text(), "How Weir Lane Growers is set up")
	got = slash(t, orla, channel, "/coop setup", discordtest.Values{"steward": "Tam"})
	require.Contains(t, got.Text(), "manage the server")
	require.Contains(t, slash(t, orla, channel, "/grower place", discordtest.Values{"place": "53.1,-6.7", "zone": "Europe/Dublin"}).Text(), "53.1")
	got = slash(t, orla, channel, "/grower place", discordtest.Values{"keep": "4", "for": "Tam"})
	require.Contains(t, got.Text(), "Tam's place", "a member picked from the server's list")
	orla.Allow(0)
	require.Contains(t, slash(t, orla, channel, "/grower place", discordtest.Values{"keep": "4", "for": "Tam"}).Text(), "Only a steward")
	orla.Allow(discordtest.ManageServer)

	require.Contains(t, slash(t, tam.User.In(), tam.User.Direct(), "/variety list", nil).Text(), "Ember Late", "their own co-op is meant")
	wen := guild.AddMember("Wen", 0)
	require.Contains(t, slash(t, wen.User.In(), wen.User.Direct(), "/variety list", nil).Text(), "not known which co-op")
	require.Contains(t, slash(t, wen.User.In(), wen.User.Direct(), "/when daylength", discordtest.Values{"place": "53.1,-6.7"}).Text(), "Day length")

	require.Zero(t, s.end())
	s.start(t)
	slash(t, tam, channel, "/variety list", nil)
	guild.Fail()
	guild.Recover()
	require.Zero(t, s.end())
	guild.Remove()
	s.start(t)
	require.Eventually(t, func() bool { return strings.Contains(s.log.String(), "a server removed us while we were away") }, within, 10*time.Millisecond, &s.log)
	require.Contains(t, slash(t, tam.User.In(), tam.User.Direct(), "/variety list", nil).Text(), "not known which co-op")
	require.Zero(t, s.end())
	kept := s.coops(t, "UPDATE server SET gone = gone - 30 * 86400 WHERE gone > 0")
	require.Len(t, kept, 1, "its register is kept in case it asks us back")
	s.start(t)
	require.Eventually(t, func() bool { return strings.Contains(s.log.String(), "that removed us is gone") }, within, 10*time.Millisecond, &s.log)
	require.Zero(t, s.end())
	require.Empty(t, s.coops(t, ""))
	require.Len(t, s.service.Requests("PUT", "/applications"), 1, "the commands did not change")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// coops gives the co-ops that are kept, after a change to the register by hand.
func (s *serving) coops(t *testing.T, change string) []register.Coop {
	t.Helper()
	reg, err := register.Open(t.Context(), s.env["SHORTDAY_DB"])
	require.NoError(t, err)
	_, err = reg.DB().ExecContext(t.Context(), change)
	require.NoError(t, err)
	all, err := reg.Coops(t.Context())
	require.NoError(t, err)
	require.NoError(t, reg.Close())
	return all
}

// TestServeIsRefused: what cannot be cured by starting again ends with 4, and a token is told to nobody it should not be.
func TestServeIsRefused(t *testing.T) {
	t.Parallel()
	inRealSeconds(t)
	s := newServing(t)
	good := s.env["SHORTDAY_DISCORD_URL"]
	for _, c := range []struct {
		name, value, says string
		status            int
	}{
		{"SHORTDAY_TOKEN", "", "There is no Discord token", 4},
		{"SHORTDAY_TOKEN", "wrong", "does not know the token", 4},
		{"SHORTDAY_DISCORD_URL", "http://192.0.2.7:8080", "listen in", 1},
		{"SHORTDAY_DISCORD_URL", "nonsense", "no address", 1},
		{"SHORTDAY_SHARDS", "many", "takes a number", 1},
	} {
		s.env["SHORTDAY_TOKEN"], s.env["SHORTDAY_DISCORD_URL"], s.env["SHORTDAY_SHARDS"] = discordtest.Token, good, ""
		s.env[c.name] = c.value
		ctx, cancel := context.WithTimeout(t.Context(), within)
		require.Equal(t, c.status, s.run(ctx, "serve"), c.says)
		require.Contains(t, s.log.String(), c.says)
		require.NoError(t, ctx.Err(), c.says)
		cancel()
	}
	s.env["SHORTDAY_SHARDS"] = ""
	s.start(t)
	s.service.Drop(4014)
	require.Eventually(t, func() bool { return strings.Contains(s.log.String(), "Check the intents") }, within, 10*time.Millisecond)
	require.Equal(t, 4, s.end())
}

func TestServeInvites(t *testing.T) {
	t.Parallel()
	inRealSeconds(t)
	s := newServing(t)
	require.Zero(t, s.run(t.Context(), "invite"))
	require.Equal(t, "https://discord.com/oauth2/authorize?client_id=1147000000000000001&permissions=274878024704&scope=bot+applications.commands\n", s.log.String())
	s.env["SHORTDAY_TOKEN"] = "wrong"
	require.Equal(t, 4, s.run(t.Context(), "invite"))
	s.service.Close()
	require.Equal(t, 1, s.run(t.Context(), "invite"))
	require.Contains(t, s.log.String(), "Discord cannot be reached")
}

// countOf gives how often something stands in what was written.
func countOf(o *output, what string) int { return strings.Count(o.String(), what) }
