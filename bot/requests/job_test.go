package requests_test

import (
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/knowledge/register"
)

// lane is a desk on a register of its own, asked by Oona of an invented co-op.
type lane struct {
	*bot.Desk
	t *testing.T
}

func openLane(t *testing.T) lane {
	t.Helper()
	reg, err := register.Open(t.Context(), filepath.Join(t.TempDir(), "lane.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	return lane{requests.NewDesk(reg, slog.New(slog.DiscardHandler)), t}
}

func (l lane) ask(on string) bot.Ask {
	at, err := time.Parse("2006-01-02 15:04", on+" 08:00")
	require.NoError(l.t, err)
	return bot.Ask{Coop: bot.Party{Key: "lane", Name: "Tallow Lane"}, Who: bot.Party{Key: "oona", Name: "Oona"}, At: at}
}

// says answers a request, which must not be refused, and checks that all it offers can be read.
func (l lane) says(on, typed string) bot.Reply {
	l.t.Helper()
	reply := l.AnswerLine(l.t.Context(), l.ask(on), typed)
	require.Nil(l.t, reply.Refusal, typed)
	for _, n := range reply.Next {
		require.NotEmpty(l.t, n.Label)
		_, _, err := l.Read(n.Request)
		require.NoError(l.t, err, n.Request)
	}
	return reply
}

func (l lane) season() {
	l.says("2026-11-20", `/grower place place:53.1,-6.7 zone:Europe/Dublin`)
	l.says("2026-11-20", `/variety add name:"Ann's on: Time" like:"late spray" natural:"8 nov" natural-at:53`)
	l.says("2026-11-20", `/stock add variety:"Ann's on: Time" count:12 stage:boxed`)
	l.says("2026-11-20", `/target set variety:"Ann's on: Time" bloom:"10 nov 2027" stems:40`)
}

func TestOffersCanBeTaken(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	l.season()
	l.says("2026-11-21", "/target list")
	shown := l.says("2026-11-21", "/plan show")
	require.Equal(t, []bot.Column{{Key: "step", Head: "step"}, {Key: "earliest", Head: "earliest"}, {Key: "likely", Head: "likely"}, {Key: "latest", Head: "latest"}, {Key: "basis", Head: "basis"}}, shown.Rows.Columns)
	due := l.says("2027-03-01", "/job due")
	require.NotEmpty(t, due.Next)
	water := l.says("2027-03-01", due.Next[0].Request)
	require.Contains(t, water.Title, "water box")
	wake := l.says("2027-03-01", `/job done job:"wake Ann's on: Time"`)
	undo := wake.Next[len(wake.Next)-1].Request
	l.says("2027-03-01", undo+" reason:slip")
	dropped := l.says("2027-03-01", `/target drop target:"Ann's on: Time"`)
	l.says("2027-03-01", dropped.Next[0].Request)
}

func TestCompletion(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	l.season()
	ask := l.ask("2026-12-01")
	for request, c := range map[string]struct{ field, typed, want string }{
		"/job done":    {"job", "wake", "wake Ann's on: Time 2027-11-10"},
		"/job skip":    {"job", "stop", "stop Ann's on: Time 2027-11-10"},
		"/job undo":    {"which", "", "2"},
		"/plan show":   {"step", "sec", "second stop"},
		"/target drop": {"target", "", "Ann's on: Time 2027-11-10"},
	} {
		ask.Request = request
		choices := l.Complete(t.Context(), ask, c.field, c.typed)
		require.NotEmpty(t, choices, request)
		require.Equal(t, c.want, choices[0].Value, request)
		require.LessOrEqual(t, len(choices), bot.Offered)
	}
}

func TestVarietiesThatWouldDoAreKnown(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	l.season()
	l.says("2026-11-20", "/variety add name:Unheard")
	l.says("2026-11-20", "/variety add name:Ninepence like:\"early pompon\"")
	reply := l.AnswerLine(t.Context(), l.ask("2026-11-20"), "/target set variety:Ninepence bloom:\"10 nov 2027\"")
	require.NotNil(t, reply.Refusal)
	require.Len(t, reply.Rows.Rows, 1, "not the one of which nothing is known")
	require.Equal(t, "Ann's on: Time", reply.Rows.Rows[0][0].String())
	require.Len(t, reply.Next, 2)
	l.says("2026-11-20", reply.Next[0].Request)
	targets := l.says("2026-11-20", "/target list")
	require.Len(t, targets.Rows.Rows, 2, "what was refused was not set")
}
