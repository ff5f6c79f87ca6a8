package discord_test

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
)

// TestPostDespiteFaults: a keyed post comes once, whatever goes wrong, before it is taken or after.
func TestPostDespiteFaults(t *testing.T) {
	t.Parallel()
	cases := map[string]discordtest.RESTFault{
		"429 of the route":         {Status: 429, RetryAfter: time.Second},
		"429 of the whole bot":     {Status: 429, RetryAfter: time.Second, Global: true},
		"429 without headers":      {Status: 429, RetryAfter: time.Second, Bare: true},
		"500":                      {Status: 500},
		"502":                      {Status: 502},
		"503":                      {Status: 503},
		"reset":                    {Reset: true},
		"taken, then 500":          {Status: 500, After: true},
		"taken, then 502":          {Status: 502, After: true},
		"taken, then reset":        {Reset: true, After: true},
		"answered after 10 s":      {Delay: 10 * time.Second},
		"taken, told after 10 s":   {Delay: 10 * time.Second, Status: 502, After: true},
		"502 three times":          {Status: 502, Times: 3},
		"429 twice, the first bad": {Status: 429, Times: 2, RetryAfter: 500 * time.Millisecond, Bare: true},
	}
	for name, fault := range cases {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
			fault.Method, fault.Path = http.MethodPost, "/channels/"
			b.service.FailREST(fault)
			id, err := b.conn.Send(t.Context(), b.channel.ID, keyed("notice 7", "Frost tonight."))
			require.NoError(t, err, b.log)
			got := b.channel.Messages()
			require.Len(t, got, 1)
			require.Equal(t, got[0].ID, id)
		})
	}
}

// TestPostWithoutKeyIsSentOnce: without a key a second copy could arise, so that it is not tried again.
func TestPostWithoutKeyIsSentOnce(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	b.service.FailREST(discordtest.RESTFault{Method: http.MethodPost, Path: "/channels/", Status: 502, After: true})
	_, err := b.conn.Send(t.Context(), b.channel.ID, discord.Post{Text: "Hello."})
	var refusal *discord.Refusal
	require.ErrorAs(t, err, &refusal)
	require.Equal(t, http.StatusServiceUnavailable, refusal.Status)
	require.Len(t, b.service.Requests(http.MethodPost, "/channels/"), 1)
}

// TestGlobalLimitStopsEverything: after a 429 of the whole bot nothing else is asked until its time is over.
func TestGlobalLimitStopsEverything(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	b.service.FailREST(discordtest.RESTFault{Path: "/guilds/", Status: 429, Global: true, RetryAfter: 2 * time.Second})
	started := time.Now()
	done := make(chan error, 1)
	go func() { _, err := b.conn.Present(context.Background(), b.guild.ID, b.member.User.ID); done <- err }()
	for len(b.service.Requests("", "/guilds/")) == 0 {
		time.Sleep(time.Millisecond)
	}
	time.Sleep(300 * time.Millisecond) // the refusal has to arrive
	_, err := b.conn.Send(t.Context(), b.channel.ID, keyed("k", "Hello."))
	require.NoError(t, err)
	require.GreaterOrEqual(t, time.Since(started), 2*time.Second)
	require.NoError(t, <-done)
}

// TestWaitEndsWithContext: nobody waits for a limit longer than they want an answer.
func TestWaitEndsWithContext(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	b.service.FailREST(discordtest.RESTFault{Path: "/channels/", Status: 429, RetryAfter: time.Hour})
	ctx, cancel := context.WithTimeout(t.Context(), time.Second)
	defer cancel()
	started := time.Now()
	_, err := b.conn.Send(ctx, b.channel.ID, keyed("k", "Hello."))
	require.ErrorIs(t, err, discord.ErrWait)
	_, err = b.conn.Send(ctx, b.channel.ID, keyed("k", "Hello."))
	require.ErrorIs(t, err, discord.ErrWait)
	require.Less(t, time.Since(started), time.Second)
}

// TestPace: neither the channel's limit nor the bot's is ever broken, which the service would call a violation. On a machine
// that is busy, requests sent at that pace may arrive at once: there the time that all of them took tells the pace.
func TestPace(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	done := make(chan error, 120)
	started := time.Now()
	for n := range 110 {
		go func() {
			_, err := b.conn.Present(context.Background(), b.guild.ID, fmt.Sprint(n))
			done <- err
		}()
	}
	for n := range 8 {
		go func() {
			_, err := b.conn.Send(context.Background(), b.channel.ID, keyed(fmt.Sprint(n), "Hello."))
			done <- err
		}()
	}
	for range 118 {
		require.NoError(t, <-done)
	}
	require.Len(t, b.channel.Messages(), 8)
	require.GreaterOrEqual(t, time.Since(started), (118-5)*time.Second/40)
	if !*quiet {
		for _, broken := range b.service.Forgive() {
			require.ErrorContains(t, broken, "more than 50 requests in a second")
		}
	}
}

// TestRefusals: what Discord's numbers mean, without a word of the request.
func TestRefusals(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	for code, meaning := range map[int]error{
		50001: discord.ErrLacking, 50013: discord.ErrLacking, 50007: discord.ErrClosed, 10003: discord.ErrGone,
	} {
		b.service.FailREST(discordtest.RESTFault{Path: "/channels/", Status: 403, Code: code})
		_, err := b.conn.Send(t.Context(), b.channel.ID, keyed("k", "Hello."))
		require.ErrorIs(t, err, meaning)
		require.NotContains(t, fmt.Sprintf("%v %+v %#v", err, err, errors.Unwrap(err)), discordtest.Token)
	}
	b.service.Close()
	_, err := b.conn.Send(t.Context(), b.channel.ID, discord.Post{Text: "Hello."})
	require.ErrorContains(t, err, "reaching Discord")
	require.NotContains(t, err.Error(), "/channels/")
}

// TestRealRefusals: the same, as the service itself refuses.
func TestRealRefusals(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	b.channel.Deny(discordtest.ViewChannel)
	_, err := b.conn.Send(t.Context(), b.channel.ID, keyed("k", "Hello."))
	require.ErrorIs(t, err, discord.ErrLacking)
	has, wanted, err := b.conn.Rights(t.Context(), b.channel.ID)
	require.NoError(t, err)
	require.Zero(t, has)
	require.Equal(t, discord.Posting, wanted)
	b.channel.Deny(discordtest.AttachFiles | discordtest.SendMessages)
	_, err = b.conn.Send(t.Context(), b.channel.ID, keyed("k", "Hello."))
	require.ErrorIs(t, err, discord.ErrLacking)
	has, wanted, err = b.conn.Rights(t.Context(), b.channel.ID)
	require.NoError(t, err)
	require.Equal(t, []string{"Send Messages", "Attach Files"}, (wanted &^ has).Names())
	b.channel.Deny(discordtest.SendInThreads)
	has, wanted, err = b.conn.Rights(t.Context(), b.channel.AddThread("notices").ID)
	require.NoError(t, err)
	require.Equal(t, []string{"Send Messages in Threads"}, (wanted &^ has).Names())
	b.channel.Deny(discordtest.AttachFiles | discordtest.SendMessages)

	b.member.User.CloseDirect(true)
	direct, err := b.conn.Direct(t.Context(), b.member.User.ID)
	require.NoError(t, err)
	_, err = b.conn.Send(t.Context(), direct, keyed("k", "Hello."))
	require.ErrorIs(t, err, discord.ErrClosed)
	b.member.User.CloseDirect(false)
	_, err = b.conn.Send(t.Context(), direct, keyed("k", "Hello."))
	require.NoError(t, err)

	there, err := b.conn.Present(t.Context(), b.guild.ID, b.member.User.ID)
	require.NoError(t, err)
	require.True(t, there)
	b.member.Leave()
	there, err = b.conn.Present(t.Context(), b.guild.ID, b.member.User.ID)
	require.NoError(t, err)
	require.False(t, there)
}

// TestFind: a keyed post is found among much else, by pages, and its nonce plays no part.
func TestFind(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	since := time.Now().Add(-time.Second)
	found, err := b.conn.Find(t.Context(), b.channel.ID, "notice 7", since)
	require.NoError(t, err)
	require.Empty(t, found)
	for n := range 250 {
		b.channel.Say(fmt.Sprint("talk ", n))
	}
	id, err := b.conn.Send(t.Context(), b.channel.ID, keyed("notice 7", "Frost tonight."))
	require.NoError(t, err)
	for range 250 {
		b.channel.Say("more talk")
	}
	b.service.ForgetNonces()
	found, err = b.conn.Find(t.Context(), b.channel.ID, "notice 7", since)
	require.NoError(t, err)
	require.Equal(t, id, found)
	found, err = b.conn.Find(t.Context(), b.channel.ID, "notice 8", since)
	require.NoError(t, err)
	require.Empty(t, found)
	found, err = b.conn.Find(t.Context(), b.channel.ID, "notice 7", time.Now().Add(time.Hour))
	require.NoError(t, err)
	require.Empty(t, found)

	b.channel.Deny(discordtest.ReadHistory)
	_, err = b.conn.Find(t.Context(), b.channel.ID, "notice 7", since)
	require.ErrorIs(t, err, discord.ErrUnknowable)
}

// TestFiles: files come whole, with what they show.
func TestFiles(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	post := keyed("k", "The year of a variety.")
	post.Files = []discord.File{{Name: "year.png", Kind: "image/png", Alt: "A bar a step from March to October.", Data: []byte("\x89PNG…")}}
	_, err := b.conn.Send(t.Context(), b.channel.ID, post)
	require.NoError(t, err)
	got := b.channel.Messages()[0].Attachments
	require.Len(t, got, 1)
	require.Equal(t, post.Files[0].Data, got[0].Data)
	require.Equal(t, post.Files[0].Alt, got[0].Description)
}

// TestRegister: commands are sent only when they differ.
func TestRegister(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	for _, want := range []bool{true, false, false} {
		sent, err := b.conn.Register(t.Context(), ping)
		require.NoError(t, err)
		require.Equal(t, want, sent)
	}
	other := *ping[0]
	other.Description = "Answers at once"
	sent, err := b.conn.Register(t.Context(), append(ping[:0:0], &other))
	require.NoError(t, err)
	require.True(t, sent)
	require.Equal(t, "Answers at once", b.service.Commands()[0].Description)
}

// TestInvite: the link asks for what is needed and no more.
func TestInvite(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	link, err := b.conn.Invite(t.Context())
	require.NoError(t, err)
	require.Equal(t, "https://discord.com/oauth2/authorize?client_id=1147000000000000001&permissions=274878024704&scope=bot+applications.commands", link)
}

// TestWritable: where to say hello.
func TestWritable(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	b.channel.Deny(discordtest.SendMessages)
	found, err := b.conn.Writable(t.Context(), b.guild.ID)
	require.NoError(t, err)
	require.Empty(t, found)
	other := b.guild.AddChannel("talk")
	found, err = b.conn.Writable(t.Context(), b.guild.ID)
	require.NoError(t, err)
	require.Equal(t, other.ID, found)
}

// TestAddresses: an address that cannot be one is refused with what one looks like.
func TestAddresses(t *testing.T) {
	t.Parallel()
	for _, address := range []string{"localhost", "ftp://localhost", "http://", ":", "localhost:80"} {
		_, err := discord.New(discord.Options{Token: "x", URL: address})
		require.ErrorContains(t, err, "http://localhost:8080", address)
	}
	_, err := discord.New(discord.Options{Token: "  "})
	require.ErrorContains(t, err, "SHORTDAY_TOKEN")
	require.False(t, strings.Contains(fmt.Sprint(err), "panic"))
}
