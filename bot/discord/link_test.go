package discord_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
)

// TestLinkOpensAgain: whatever goes wrong while a link opens, it is open within 10 s of the service being well.
func TestLinkOpensAgain(t *testing.T) {
	t.Parallel()
	for _, fault := range []discordtest.LinkFault{
		discordtest.NoHello, discordtest.ReconnectBeforeReady, discordtest.RefuseResumable,
		discordtest.RefuseIdentify, discordtest.NoReady, discordtest.CloseAtIdentify,
	} {
		t.Run(string(fault), func(t *testing.T) {
			t.Parallel()
			b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
			_, err := b.conn.Register(t.Context(), ping)
			require.NoError(t, err)
			b.service.FailLinks(fault)
			b.run(t, discord.Events{Asked: echo})
			require.NoError(t, b.service.AwaitReady(1, recovery), b.log)
			b.answers(t)
		})
	}
}

// TestLinkIsMadeAnew: a link lost in use is open again within 10 s, and questions are answered.
func TestLinkIsMadeAnew(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name      string
		heartbeat time.Duration
		lose      func(*discordtest.Service)
	}{
		{"op 7", 0, (*discordtest.Service).Reconnect},
		{"op 9 true", 0, func(s *discordtest.Service) { s.Invalidate(true) }},
		{"op 9 false", 0, func(s *discordtest.Service) { s.Invalidate(false) }},
		{"close 1006", 0, func(s *discordtest.Service) { s.Drop(1006) }},
		{"close 4000", 0, func(s *discordtest.Service) { s.Drop(4000) }},
		{"close 4009", 0, func(s *discordtest.Service) { s.Drop(4009) }},
		{"no heartbeat is acknowledged", time.Second, (*discordtest.Service).Mute},
		{"a silent link", time.Second, (*discordtest.Service).Silence},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := start(t, discordtest.Options{Heartbeat: c.heartbeat})
			c.lose(b.service)
			require.NoError(t, b.service.AwaitIdentifies(2, recovery), b.log)
			require.NoError(t, b.service.AwaitReady(1, time.Second), b.log)
			b.answers(t)
		})
	}
}

// TestLinkEnds: close codes that trying again cannot cure end it all with a sentence.
func TestLinkEnds(t *testing.T) {
	t.Parallel()
	for _, code := range []int{4004, 4010, 4011, 4012, 4013, 4014} {
		b := start(t, discordtest.Options{})
		b.service.Drop(code)
		var final *discord.Final
		require.ErrorAs(t, <-b.ended, &final)
		require.Equal(t, code, final.Code)
		require.Regexp(t, `^[A-Z].*\. .*\.$`, final.Text)
	}
	for fault, code := range map[discordtest.LinkFault]int{discordtest.BadToken: 4004, discordtest.BadIntents: 4014} {
		b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
		b.service.FailLinks(fault)
		b.run(t, discord.Events{})
		var final *discord.Final
		require.ErrorAs(t, <-b.ended, &final)
		require.Equal(t, code, final.Code)
	}
}

// TestUnknownToken: a token Discord does not know is told before any link is opened.
func TestUnknownToken(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	b.service.FailREST(discordtest.RESTFault{Path: "/gateway/bot", Status: 401, Code: 50014})
	b.run(t, discord.Events{})
	var final *discord.Final
	require.ErrorAs(t, <-b.ended, &final)
	require.Empty(t, b.service.Identifies())
}

// TestGatewayAddressIsHardToGet: faults of the REST service while connecting delay it and no more.
func TestGatewayAddressIsHardToGet(t *testing.T) {
	t.Parallel()
	for name, fault := range map[string]discordtest.RESTFault{
		"500":        {Status: 500, Times: 2},
		"502":        {Status: 502, Times: 2},
		"503":        {Status: 503, Times: 2},
		"429":        {Status: 429, RetryAfter: time.Second},
		"reset":      {Reset: true, Times: 3},
		"10 s":       {Delay: 10 * time.Second},
		"not a word": {Status: 200, Code: 0},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
			fault.Path = "/gateway"
			b.service.FailREST(fault)
			b.run(t, discord.Events{Asked: echo})
			require.NoError(t, b.service.AwaitReady(1, recovery), b.log)
		})
	}
}

// TestShards: as many links as asked for, each with its own servers, five seconds apart.
func TestShards(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{Shards: 2}), discord.Options{})
	type linked struct{ shard, shards int }
	links := make(chan linked, 2)
	b.run(t, discord.Events{Linked: func(shard, shards int, _ []string) { links <- linked{shard, shards} }})
	require.NoError(t, b.service.AwaitReady(2, recovery))
	require.ElementsMatch(t, []linked{{0, 2}, {1, 2}}, []linked{<-links, <-links})
	at := b.service.Identifies()
	require.GreaterOrEqual(t, at[1].Sub(at[0]), 5*time.Second)
}

// TestTallyIsKept: IDENTIFYs are counted across restarts, and near the day's end of them the rest is spread.
func TestTallyIsKept(t *testing.T) {
	t.Parallel()
	tally := discord.Tally{Since: time.Now().Add(-time.Hour), Count: 41}
	saved := make(chan discord.Tally, 1)
	keep := discord.Identifies{
		Load: func(context.Context) (discord.Tally, error) { return tally, nil },
		Save: func(_ context.Context, t discord.Tally) error { saved <- t; return nil },
	}
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{Identifies: keep})
	b.run(t, discord.Events{})
	require.NoError(t, b.service.AwaitReady(1, recovery))
	got := <-saved
	require.Equal(t, 42, got.Count)
	require.WithinDuration(t, tally.Since, got.Since, 0)

	tally.Count = 999
	spent := dial(t, serve(t, discordtest.Options{}), discord.Options{Identifies: keep})
	spent.run(t, discord.Events{})
	require.ErrorIs(t, spent.service.AwaitReady(1, 2*time.Second), discordtest.ErrTimeout)
	require.Contains(t, spent.log.String(), "many identifications today")
}

// TestDayOfRefusals: a service that refuses every IDENTIFY is asked at a pace that a day of it can bear.
func TestDayOfRefusals(t *testing.T) {
	t.Parallel()
	if !*long {
		t.Skip("takes two minutes: run with -long")
	}
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	for range 10 {
		b.service.FailLinks(discordtest.RefuseIdentify)
	}
	b.run(t, discord.Events{})
	require.NoError(t, b.service.AwaitIdentifies(5, 2*time.Minute+10*time.Second))
	at := b.service.Identifies()
	for i := 2; i < len(at); i++ {
		require.Greater(t, at[i].Sub(at[i-1]), at[i-1].Sub(at[i-2])*3/2, "each pause is about twice the last")
	}
}

// TestServers: joining, an outage and leaving are told apart.
func TestServers(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	told := make(chan string, 16)
	b.run(t, discord.Events{
		Linked: func(_, _ int, servers []string) { told <- "linked"; require.Equal(t, []string{b.guild.ID}, servers) },
		Joined: func(_, name string) { told <- "joined " + name },
		Left:   func(string) { told <- "left" },
	})
	require.Equal(t, "linked", <-told)
	require.Equal(t, "joined Weir Lane Growers", <-told)
	b.guild.Fail()
	b.guild.Recover()
	require.Equal(t, "joined Weir Lane Growers", <-told)
	b.service.AddGuild("Tor Field Flowers")
	require.Equal(t, "joined Tor Field Flowers", <-told)
	b.guild.Remove()
	require.Equal(t, "left", <-told)
}

// TestEventsDecodedInPart: nothing that comes by a link ends the process or the link.
func TestEventsDecodedInPart(t *testing.T) {
	t.Parallel()
	b := start(t, discordtest.Options{})
	for _, event := range []string{"GUILD_CREATE", "GUILD_DELETE", "INTERACTION_CREATE", "READY", "MESSAGE_CREATE", "NEVER_HEARD_OF", "VOICE_SERVER_UPDATE"} {
		for _, data := range []string{
			`null`, `{}`, `[]`, `7`, `"x"`, `{"id":7}`, `{"guilds":[null,{}]}`, `{"id":"1","token":"t","type":2,"data":null}`,
			`{"id":"1","token":"t","type":0,"data":{},"user":{"id":"5"}}`, `{"id":"1","token":"t","type":2,"data":{"options":[null]},"member":{}}`,
			`{"id":"1","token":"t","type":5,"data":{"components":[{"type":18}]},"member":{"user":null}}`, `{"user":null,"guilds":null}`,
		} {
			b.service.Send(event, data)
		}
	}
	b.answers(t)
	require.Len(t, b.service.Identifies(), 1)
}
