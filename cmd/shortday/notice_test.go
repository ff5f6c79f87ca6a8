package main

import (
	"context"
	"log/slog"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord"
	"shortday/bot/discord/discordtest"
	"shortday/bot/requests"
	"shortday/knowledge/register"
)

// morning is a co-op in Discord whose notice and reminder are due at seven.
type morning struct {
	*serving
	guild   *discordtest.Guild
	channel *discordtest.Channel
	orla    *discordtest.Member
	seven   time.Time
}

func newMorning(t *testing.T) *morning {
	t.Helper()
	m := &morning{serving: newServing(t)}
	m.guild = m.service.AddGuild("Weir Lane Growers")
	m.channel = m.guild.AddChannel("notices")
	m.orla = m.guild.AddMember("Orla", discordtest.ManageServer)
	zone, err := time.LoadLocation("Europe/Dublin")
	require.NoError(t, err)
	m.seven = time.Date(2027, time.March, 15, 7, 0, 0, 0, zone)

	reg, err := register.Open(t.Context(), m.env["SHORTDAY_DB"])
	require.NoError(t, err)
	defer func() { require.NoError(t, reg.Close()) }()
	desk := requests.NewDesk(reg, slog.New(slog.DiscardHandler))
	_, err = reg.Arrive(t.Context(), m.guild.ID, m.guild.Name, m.seven.AddDate(0, -3, 0))
	require.NoError(t, err)
	require.NoError(t, reg.Greeted(t.Context(), m.guild.ID, m.seven.AddDate(0, -3, 0)))
	for i, line := range []string{
		"/coop setup zone:Europe/Dublin place:53.1,-6.7",
		`/variety add name:Saltmarsh like:"late spray"`, `/stock add variety:Saltmarsh count:12 since:"10 nov 2026"`, `/target set variety:Saltmarsh bloom:"5 nov 2027" stems:100`,
	} {
		reply := desk.AnswerLine(t.Context(), bot.Ask{
			Coop: bot.Party{Key: m.guild.ID, Name: m.guild.Name}, Who: bot.Party{Key: m.orla.User.ID, Name: "Orla"},
			At: m.seven.Add(time.Duration(i-60) * time.Minute), Steward: true, Governed: true, Adapter: "discord",
		}, line)
		require.Nil(t, reply.Refusal, "%s: %v", line, reply.Refusal)
	}
	by := register.Actor{Member: 1, At: m.seven.Add(-time.Minute)}
	require.NoError(t, reg.SetNotices(t.Context(), by, register.NoticeSetting{Adapter: register.Discord, Place: m.channel.ID, Times: "07:00", WeekAhead: 1, Calls: true}))
	require.NoError(t, reg.SetReminders(t.Context(), by, register.ReminderSetting{Wanted: true, Times: "07:00", Quiet: "none"}))
	return m
}

// at serves from an instant on.
func (m *morning) at(t *testing.T, from time.Time) {
	t.Helper()
	begun := time.Now()
	ctx, cancel := context.WithCancel(context.Background())
	p := &program{
		Context: ctx, getenv: func(name string) string { return m.env[name] }, stdout: &m.log, stderr: &m.log,
		now: func() time.Time { return from.Add(time.Since(begun)) }, log: slog.New(slog.NewTextHandler(&m.log, nil)),
	}
	ended := make(chan error, 1)
	go func() {
		ended <- p.serve(discord.Options{Token: discordtest.Token, URL: m.service.URL(), Now: time.Now, Log: p.log}, striking{}, feed{})
	}()
	m.end = sync.OnceValue(func() int {
		cancel()
		return p.status(<-ended)
	})
	t.Cleanup(func() { m.end() })
}

// TestNoticesInDiscord: what is due goes to the co-op's channel and to its member, and does not come twice when the
// program is started again.
func TestNoticesInDiscord(t *testing.T) {
	t.Parallel()
	inRealSeconds(t)
	m := newMorning(t)
	m.at(t, m.seven.Add(-time.Second))
	_, err := m.channel.AwaitMessages(1, within)
	require.NoError(t, err, &m.log)
	_, err = m.orla.User.Direct().AwaitMessages(1, within)
	require.NoError(t, err, &m.log)
	group, own := m.channel.Messages(), m.orla.User.Direct().Messages()
	require.Contains(t, group[0].Text(), "Saltmarsh")
	require.Contains(t, own[0].Text(), "Saltmarsh")
	require.Eventually(t, func() bool { return countOf(&m.log, "msg=told") == 2 }, within, 10*time.Millisecond, &m.log)
	require.Zero(t, m.end())
	m.service.ForgetNonces()
	m.at(t, m.seven.Add(20*time.Second))
	require.NoError(t, m.service.AwaitIdentifies(2, within))
	require.Len(t, m.channel.Messages(), 1)
	require.Len(t, m.orla.User.Direct().Messages(), 1)
}

// TestClosedInDiscord: a reminder that cannot be sent pauses them, tells nobody else, and its member at the next
// request; from then on they go on.
func TestClosedInDiscord(t *testing.T) {
	t.Parallel()
	inRealSeconds(t)
	m := newMorning(t)
	wen := m.guild.AddMember("Wen", discordtest.ManageServer)
	m.orla.User.CloseDirect(true)
	m.at(t, m.seven.Add(-time.Second))
	require.Eventually(t, func() bool { return countOf(&m.log, "who it is for cannot be reached") > 0 }, within, 10*time.Millisecond, &m.log)
	require.NoError(t, m.service.AwaitReady(1, within))
	require.NoError(t, m.service.AwaitCommands(within))
	require.Empty(t, wen.User.Direct().Messages())
	asked, err := m.orla.Slash(m.channel, "/job due", nil)
	require.NoError(t, err)
	_, err = asked.Wait()
	require.NoError(t, err)
	told, err := asked.FollowUps(1, within)
	require.NoError(t, err)
	require.Contains(t, told[0].Text(), "reminders paused")
	require.Zero(t, m.end())
	reg, err := register.Open(t.Context(), m.env["SHORTDAY_DB"])
	require.NoError(t, err)
	seat, err := reg.Find(t.Context(), m.guild.ID, m.orla.User.ID)
	require.NoError(t, err)
	set, err := reg.Reminders(t.Context(), seat.Member.ID)
	require.NoError(t, err)
	require.Empty(t, set.Paused)
	require.NoError(t, reg.Close())
}
