package discord_test

import (
	"context"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/scheduler"
)

// post is a counter from which notices go out, and what was kept of whom they reached.
type post struct {
	*counter
	platform scheduler.Platform
	closed   []string
	away     []string
	stewards []string
	lacking  int64
	in       bool
}

func office(t *testing.T) *post {
	t.Helper()
	p := &post{counter: outfit(t), in: true}
	note := func(list *[]string) func(context.Context, string, string) error {
		return func(_ context.Context, _, person string) error { *list = append(*list, person); return nil }
	}
	homes := discord.Homes{
		Closed: note(&p.closed), Away: note(&p.away),
		Stewards: func(context.Context, string) ([]string, error) { return p.stewards, nil },
	}
	servers := discord.Servers{
		In:      func(context.Context, string) (bool, error) { return p.in, nil },
		Lacking: func(context.Context, string) (int64, error) { return p.lacking, nil },
		Lack:    func(_ context.Context, _ string, rights int64) error { p.lacking = rights; return nil },
	}
	p.open(t, homes, servers)
	p.platform = p.adapter.Platform()
	return p
}

func (p *post) notice(key string) scheduler.Notice {
	return scheduler.Notice{
		Key: key, Coop: scheduler.Party{Key: p.guild.ID, Name: p.guild.Name}, Place: p.channel.ID, Day: calendar.DayAt(time.Now()), Title: "Today", Text: "Frost tonight.",
		Next: []scheduler.Offer{{Label: "Where is this?", Request: "/where"}},
	}
}

func (p *post) reminder(key string) scheduler.Notice {
	n := p.notice(key)
	n.Place, n.Member = "", scheduler.Party{Key: p.member.User.ID, Name: "Orla"}
	return n
}

// TestNoticeToTheGroup: it stands in its channel once, calls those who asked for it and nobody else, and is found again.
func TestNoticeToTheGroup(t *testing.T) {
	t.Parallel()
	p := office(t)
	n := p.notice("n1")
	_, there, err := p.platform.Find(t.Context(), n)
	require.NoError(t, err)
	require.False(t, there)
	n.Text, n.Calls = "Frost tonight, @everyone.", []scheduler.Party{{Key: p.member.User.ID, Name: "Orla"}}
	receipt, err := p.platform.Deliver(t.Context(), n)
	require.NoError(t, err)
	_, err = p.platform.Deliver(t.Context(), n)
	require.NoError(t, err)
	got := p.channel.Messages()
	require.Len(t, got, 1)
	require.Equal(t, []string{p.member.User.ID}, got[0].Pings)
	require.Equal(t, "<@"+p.member.User.ID+">", got[0].Content)
	p.service.ForgetNonces()
	found, there, err := p.platform.Find(t.Context(), n)
	require.NoError(t, err)
	require.True(t, there)
	require.Equal(t, receipt, found)
	require.Equal(t, "Orla in Weir Lane Growers", p.press(t, got[0], "Where is this?").Text())

	p.channel.Deny(discordtest.ReadHistory)
	_, _, err = p.platform.Find(t.Context(), n)
	require.ErrorIs(t, err, scheduler.ErrUnknowable)
	thread := p.channel.AddThread("mornings")
	n = p.notice("n2")
	n.Place = thread.ID
	_, err = p.platform.Deliver(t.Context(), n)
	require.NoError(t, err)
	require.Len(t, thread.Messages(), 1)
}

// TestMissingRights: a steward is told once which they are, and again only of others.
func TestMissingRights(t *testing.T) {
	t.Parallel()
	p := office(t)
	wen, tam := p.guild.AddMember("Wen", discordtest.ManageServer), p.guild.AddMember("Tam", 0)
	p.stewards = []string{wen.User.ID, tam.User.ID} // Tam was one once
	p.channel.Deny(discordtest.SendMessages)
	for range 3 {
		_, err := p.platform.Deliver(t.Context(), p.notice("n1"))
		require.Equal(t, fault.Barred, fault.KindOf(err))
	}
	told := wen.User.Direct().Messages()
	require.Len(t, told, 1)
	require.Contains(t, told[0].Text(), "In #swaps I lack the rights Send Messages.")
	require.Empty(t, tam.User.Direct().Messages())
	p.channel.Deny(discordtest.EmbedLinks)
	_, err := p.platform.Deliver(t.Context(), p.notice("n1"))
	require.Error(t, err)
	require.Contains(t, wen.User.Direct().Messages()[1].Text(), "Embed Links")
	p.channel.Deny(0)
	_, err = p.platform.Deliver(t.Context(), p.notice("n1"))
	require.NoError(t, err)
	require.Zero(t, p.lacking)

	p.stewards = nil
	tam.Own()
	p.channel.Delete()
	_, err = p.platform.Deliver(t.Context(), p.notice("n2"))
	require.Equal(t, fault.Missing, fault.KindOf(err))
	require.Contains(t, tam.User.Direct().Messages()[0].Text(), "channel for notices is gone", "with no steward known it is the owner's")
	n := p.notice("n3")
	n.Place = ""
	_, err = p.platform.Deliver(t.Context(), n)
	require.Equal(t, fault.Missing, fault.KindOf(err))
}

// TestReminder: it goes to its member alone, and never to one who left, who takes none, or whose server removed us.
func TestReminder(t *testing.T) {
	t.Parallel()
	p := office(t)
	receipt, err := p.platform.Deliver(t.Context(), p.reminder("r1"))
	require.NoError(t, err)
	direct := p.member.User.Direct()
	got := direct.Messages()
	require.Len(t, got, 1)
	require.Empty(t, got[0].Pings)
	require.Empty(t, p.channel.Messages())
	found, there, err := p.platform.Find(t.Context(), p.reminder("r1"))
	require.NoError(t, err)
	require.True(t, there)
	require.Equal(t, receipt, found)
	other := p.service.AddGuild("Tor Field Flowers")
	other.Join(p.member.User, 0)
	p.coops = []bot.Party{{Key: p.guild.ID, Name: "Weir Lane"}, {Key: other.ID, Name: "Tor Field"}}
	pressed, err := p.member.User.In().Press(got[0], "Where is this?")
	require.NoError(t, err)
	answer, err := pressed.Wait()
	require.NoError(t, err)
	require.Equal(t, "Orla in Weir Lane Growers", answer.Text(), "the button knows its co-op")

	var unreachable scheduler.Unreachable
	p.member.User.CloseDirect(true)
	_, err = p.platform.Deliver(t.Context(), p.reminder("r2"))
	require.ErrorAs(t, err, &unreachable)
	require.Equal(t, []string{p.member.User.ID}, p.closed)
	p.member.User.CloseDirect(false)
	p.service.FailREST(discordtest.RESTFault{Method: http.MethodPost, Path: "/channels/", Status: 403, Code: 50013})
	_, err = p.platform.Deliver(t.Context(), p.reminder("r2"))
	require.ErrorIs(t, err, discord.ErrLacking, "nobody else is told of it")
	p.in = false
	_, err = p.platform.Deliver(t.Context(), p.reminder("r3"))
	require.ErrorAs(t, err, &unreachable)
	p.in = true
	p.service.FailREST(discordtest.RESTFault{Path: "/guilds/", Status: 403, Code: 50001})
	_, err = p.platform.Deliver(t.Context(), p.reminder("r3"))
	require.ErrorAs(t, err, &unreachable)
	require.Contains(t, err.Error(), "We were removed", "also before we were told")
	require.Empty(t, p.away)
	p.member.Leave()
	_, err = p.platform.Deliver(t.Context(), p.reminder("r3"))
	require.ErrorAs(t, err, &unreachable)
	require.Equal(t, []string{p.member.User.ID}, p.away)
	require.Len(t, direct.Messages(), 2, "the reminder and the answer")
}

// TestWhomARequestConcerns: whoever left the server is found out before a request brings them together with others, and
// who was found there is not looked for again at once.
func TestWhomARequestConcerns(t *testing.T) {
	t.Parallel()
	c := outfit(t)
	tam := c.guild.AddMember("Tam", 0)
	tam.Leave()
	var mu sync.Mutex
	var away []string
	c.open(t, discord.Homes{
		Concerned: func(context.Context, bot.Ask) ([]string, error) { return []string{c.member.User.ID, tam.User.ID}, nil },
		Away: func(_ context.Context, _, person string) error {
			mu.Lock()
			defer mu.Unlock()
			away = append(away, person)
			return nil
		},
	}, discord.Servers{})
	c.ask(t, "/where", nil)
	c.ask(t, "/where", nil)
	mu.Lock()
	defer mu.Unlock()
	require.Equal(t, []string{tam.User.ID, tam.User.ID}, away)
	require.Len(t, c.service.Requests("GET", "/guilds/"+c.guild.ID+"/members/"+c.member.User.ID), 1)
}
