package discord_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/stretchr/testify/require"

	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
)

// TestAnswerDespiteFaults: an answer arrives, once, whatever befalls the first attempt.
func TestAnswerDespiteFaults(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	_, err := b.conn.Register(t.Context(), ping)
	require.NoError(t, err)
	said := make(chan struct{}, 1)
	b.run(t, discord.Events{Asked: func(ctx context.Context, turn *discord.Turn) {
		echo(ctx, turn)
		said <- struct{}{}
	}})
	require.NoError(t, b.service.AwaitReady(1, recovery))
	for name, fault := range map[string]discordtest.RESTFault{
		"429":               {Status: 429, RetryAfter: 300 * time.Millisecond},
		"500":               {Status: 500},
		"502":               {Status: 502},
		"503":               {Status: 503},
		"reset":             {Reset: true},
		"taken, then 502":   {Status: 502, After: true},
		"taken, then reset": {Reset: true, After: true},
		"two seconds":       {Delay: 2 * time.Second},
	} {
		fault.Path = "/interactions/"
		before := len(b.channel.Messages())
		b.service.FailREST(fault)
		b.answers(t)
		<-said // whatever is tried again was
		require.Len(t, b.channel.Messages(), before+1, name)
	}
}

// TestAnswerRefused: a question that is closed or answered already is let go, and said of once.
func TestAnswerRefused(t *testing.T) {
	t.Parallel()
	for code, meaning := range map[int]error{10062: discord.ErrLate, 40060: discord.ErrDoubled} {
		b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
		_, err := b.conn.Register(t.Context(), ping)
		require.NoError(t, err)
		told := make(chan error, 1)
		b.run(t, discord.Events{Asked: func(ctx context.Context, turn *discord.Turn) { told <- turn.Say(ctx, "pong", true) }})
		require.NoError(t, b.service.AwaitReady(1, recovery))
		b.service.FailREST(discordtest.RESTFault{Path: "/interactions/", Status: 400, Code: code})
		_, err = b.member.Slash(b.channel, "/ping", nil)
		require.NoError(t, err)
		require.ErrorIs(t, <-told, meaning)
		require.Len(t, b.service.Requests(http.MethodPost, "/interactions/"), 1)
	}
}

// TestLateAndDoubledAnswersAreNotSent: the service would call each a violation.
func TestLateAndDoubledAnswersAreNotSent(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	_, err := b.conn.Register(t.Context(), ping)
	require.NoError(t, err)
	told := make(chan error, 3)
	b.run(t, discord.Events{Asked: func(ctx context.Context, turn *discord.Turn) {
		if turn.Interaction.Type == discordgo.InteractionApplicationCommandAutocomplete {
			time.Sleep(3100 * time.Millisecond)
		}
		told <- turn.Say(ctx, "one", true)
		told <- turn.Say(ctx, "two", true)
	}})
	require.NoError(t, b.service.AwaitReady(1, recovery))
	asked, err := b.member.Slash(b.channel, "/ping", nil)
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err)
	require.Equal(t, "one", got.Content)
	require.True(t, got.Private)
	require.NoError(t, <-told)
	require.ErrorIs(t, <-told, discord.ErrDoubled)

	_, err = b.member.Complete(b.channel, "/ping", discordtest.Values{"text": "h"}, "text") // cannot be promised
	require.ErrorIs(t, err, discordtest.ErrUnanswered)
	require.ErrorIs(t, <-told, discord.ErrLate)
}

// TestAnswersArriveAtTheEnd: what is being answered when the program is told to end is answered whole; what comes to no end
// holds nothing up for long.
func TestAnswersArriveAtTheEnd(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	_, err := b.conn.Register(t.Context(), ping)
	require.NoError(t, err)
	ctx, end := context.WithCancel(t.Context())
	defer end()
	tam, stuck, ended := b.guild.AddMember("Tam", 0), make(chan struct{}), make(chan error, 1)
	go func() {
		ended <- b.conn.Run(ctx, discord.Events{Asked: func(working context.Context, turn *discord.Turn) {
			if turn.Interaction.Member.User.ID == tam.User.ID {
				close(stuck)
				<-working.Done()
				return
			}
			end()
			echo(working, turn)
		}})
	}()
	require.NoError(t, b.service.AwaitReady(1, recovery))
	_, err = tam.Slash(b.channel, "/ping", nil)
	require.NoError(t, err)
	<-stuck
	b.answers(t)
	require.NoError(t, <-ended)
}

// TestOrder: each person's questions are worked on in order, different people's side by side.
func TestOrder(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	_, err := b.conn.Register(t.Context(), ping)
	require.NoError(t, err)
	var running, most atomic.Int32
	b.run(t, discord.Events{Asked: func(ctx context.Context, turn *discord.Turn) {
		most.Store(max(most.Load(), running.Add(1)))
		defer running.Add(-1)
		time.Sleep(20 * time.Millisecond)
		echo(ctx, turn)
	}})
	require.NoError(t, b.service.AwaitReady(1, recovery))
	people := []*discordtest.Member{b.member, b.guild.AddMember("Tam", 0), b.guild.AddMember("Wen", 0)}
	for n := range 20 {
		for _, who := range people {
			_, err := who.Slash(b.channel, "/ping", discordtest.Values{"text": fmt.Sprintf("%s %02d", who.User.Name, n)})
			require.NoError(t, err)
		}
	}
	got, err := b.channel.AwaitMessages(60, recovery)
	require.NoError(t, err)
	last := map[string]string{}
	for _, m := range got {
		name, _, _ := strings.Cut(m.Content, " ")
		require.Less(t, last[name], m.Content)
		last[name] = m.Content
	}
	require.EqualValues(t, 3, most.Load())
}

// TestPanics: a panic ends one answer and nothing else, and is logged once.
func TestPanics(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	_, err := b.conn.Register(t.Context(), ping)
	require.NoError(t, err)
	var once atomic.Bool
	b.run(t, discord.Events{Asked: func(ctx context.Context, turn *discord.Turn) {
		if once.CompareAndSwap(false, true) {
			panic("a wrong program, and " + discordtest.Token)
		}
		echo(ctx, turn)
	}})
	require.NoError(t, b.service.AwaitReady(1, recovery))
	asked, err := b.member.Slash(b.channel, "/ping", nil)
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Content, "Something failed")
	b.answers(t)
	require.Equal(t, 1, strings.Count(b.log.String(), "a panic while answering"))
}

// TestTooManyQuestions: beyond what can wait, people are told so, and nothing grows.
func TestTooManyQuestions(t *testing.T) {
	t.Parallel()
	b := dial(t, serve(t, discordtest.Options{}), discord.Options{})
	_, err := b.conn.Register(t.Context(), ping)
	require.NoError(t, err)
	hold := make(chan struct{})
	b.run(t, discord.Events{Asked: func(ctx context.Context, turn *discord.Turn) { <-hold }})
	require.NoError(t, b.service.AwaitReady(1, recovery))
	defer close(hold)
	for range 512 {
		_, err := b.member.Slash(b.channel, "/ping", nil)
		require.NoError(t, err)
	}
	asked, err := b.member.Slash(b.channel, "/ping", nil)
	require.NoError(t, err)
	got, err := asked.Wait()
	require.NoError(t, err)
	require.Contains(t, got.Content, "ask again")
}
