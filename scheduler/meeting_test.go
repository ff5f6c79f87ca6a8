package scheduler_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
	"shortday/scheduler"
)

// gift is a swap that both agreed to in the first days of February: Maren in Dublin gives Oona in Auckland six plants.
type gift struct {
	lane
	oona, maren register.Member
	swap        int64
}

func agreed(t *testing.T, l lane) gift {
	t.Helper()
	g := gift{lane: l}
	g.oona, g.maren = g.member("Oona", "2026-02-01"), g.member("Maren", "2026-02-01")
	_, err := g.SetMember(t.Context(), g.by(g.oona, "2026-02-01"), register.CoopUnits, 3, place.Place{Zone: "Pacific/Auckland"})
	require.NoError(t, err)
	v := g.variety(g.oona, "Saltmarsh", variety.Late, "2026-02-01")
	out, err := g.Add(t.Context(), g.by(g.maren, "2026-02-01"), register.Stock{Variety: v.ID, Stage: crop.Potted, Count: 9})
	require.NoError(t, err)
	_, err = g.MakeOffer(t.Context(), g.by(g.maren, "2026-02-01"), register.Offering{Batch: out.Batches[0].ID, Number: 6, Stock: exchange.Plants})
	require.NoError(t, err)
	_, err = g.MakeWant(t.Context(), g.by(g.oona, "2026-02-01"), register.Wish{Variety: v.ID, Number: 6, Stock: exchange.Plants, Last: day(t, "2026-02-28")})
	require.NoError(t, err)
	_, made, err := g.Propose(t.Context(), g.by(g.oona, "2026-02-01"))
	require.NoError(t, err)
	for _, m := range []register.Member{g.oona, g.maren} {
		_, err = g.Agree(t.Context(), g.by(m, "2026-02-01"), made[0].ID)
		require.NoError(t, err)
	}
	g.swap = made[0].Swaps[0].ID
	g.tells("2026-02-01")
	return g
}

func (g gift) by(m register.Member, on string) register.Actor {
	return register.Actor{Member: m.ID, At: at(g.t, on)}
}

func (g gift) meet(by register.Member, today, on string, hour int) {
	g.t.Helper()
	_, err := g.Meet(g.t.Context(), g.by(by, today), register.Appointment{Swap: g.swap, Day: day(g.t, on), Hour: hour, Spot: "the market"})
	require.NoError(g.t, err)
}

// says composes a tiding to a member as it stands.
func (g gift) says(to register.Member, kind register.TidingKind, today string) (scheduler.Notice, bool) {
	g.t.Helper()
	tiding := register.Tiding{Coop: g.coop, Member: to.ID, Kind: kind, Subject: g.swap, On: day(g.t, today), At: at(g.t, today)}
	return g.compose(scheduler.Subject{Kind: scheduler.Told, Member: to.ID, Tiding: tiding}, today)
}

func TestAMeetingIsToldByTheReadersClock(t *testing.T) {
	t.Parallel()
	g := agreed(t, openLane(t))
	g.meet(g.maren, "2026-02-02", "2026-02-14", 10)
	n, some := g.says(g.oona, register.TellMeeting, "2026-02-02")
	require.True(t, some)
	require.Equal(t, `Swap 1: day and hour appointed

Maren gives Oona 6 plants of Saltmarsh.

Handed over: the market, Sat 14 Feb 2026, 10:00 in Europe/Dublin, which is 23:00 in Pacific/Auckland. That is by Maren's word: if it does not suit you, name another day or hour.

Another day or hour for swap 1  /swap meet swap:1
Call day and hour of swap 1 off  /swap meet swap:1 off:yes`, strings.TrimSpace(sheet(n)))
	require.Len(t, n.Instants, 1)
	require.Contains(t, n.Text, n.Instants[0].String())
	require.True(t, n.Instants[0].At.Equal(time.Date(2026, time.February, 14, 10, 0, 0, 0, time.UTC)))

	n, some = g.says(g.maren, register.TellMeets, "2026-02-14")
	require.True(t, some)
	require.Equal(t, `To hand over: swap 1

Maren gives Oona 6 plants of Saltmarsh.

Handed over: the market, Sat 14 Feb 2026, 10:00.

I have given it  /swap given swap:1
Another day or hour for swap 1  /swap meet swap:1
Call day and hour of swap 1 off  /swap meet swap:1 off:yes`, strings.TrimSpace(sheet(n)))
	require.Len(t, n.Instants, 1)
	n, some = g.says(g.oona, register.TellMeets, "2026-02-14")
	require.True(t, some)
	require.Equal(t, "To receive: swap 1", n.Title)
	require.Contains(t, n.Text, "23:00 in Pacific/Auckland")

	g.meet(g.oona, "2026-02-03", "2026-02-15", 9)
	_, some = g.says(g.oona, register.TellMeeting, "2026-02-02")
	require.False(t, some, "moved since: that is told")
	_, some = g.says(g.maren, register.TellMeets, "2026-02-02")
	require.False(t, some)
	n, some = g.says(g.maren, register.TellMoved, "2026-02-03")
	require.True(t, some)
	require.Equal(t, "Swap 1: day and hour moved", n.Title)
	require.Contains(t, n.Text, "Sun 15 Feb 2026, 09:00 in Pacific/Auckland, which is Sat 14 Feb 2026, 20:00 in Europe/Dublin. That is by Oona's word")

	_, some = g.says(g.maren, register.TellOff, "2026-02-03")
	require.False(t, some, "it stands")
	_, err := g.CallOff(t.Context(), g.by(g.oona, "2026-02-04"), g.swap)
	require.NoError(t, err)
	n, some = g.says(g.maren, register.TellOff, "2026-02-04")
	require.True(t, some)
	require.Equal(t, `Swap 1: day and hour called off

Oona called day and hour off. The swap stands: Maren gives Oona 6 plants of Saltmarsh, from Sun 1 Feb 2026 to Sat 28 Feb 2026.

Appoint day and hour of swap 1  /swap meet swap:1`, strings.TrimSpace(sheet(n)))
	_, some = g.says(g.maren, register.TellMeets, "2026-02-04")
	require.False(t, some)
}

// Plants that were reported ill after a day was appointed are not sent on their way by a reminder.
func TestAReminderOfHeldPlants(t *testing.T) {
	t.Parallel()
	g := agreed(t, openLane(t))
	g.meet(g.maren, "2026-02-02", "2026-02-14", 10)
	s, err := g.Swap(t.Context(), g.swap)
	require.NoError(t, err)
	_, err = g.DB().ExecContext(t.Context(), `INSERT INTO hold (batch, why, since, last) VALUES ($1, 'apart', '2026-02-03', '2026-02-20')`, s.Batch)
	require.NoError(t, err)
	n, some := g.says(g.oona, register.TellMeets, "2026-02-14")
	require.True(t, some)
	require.Contains(t, n.Text, "But: Batch 26-1 came in and stands apart until Fri 20 Feb 2026; it is not passed on before.")
}

// Through the striking itself: each of the two is told at once and once more on their own morning, wherever they are
// and whatever else the co-op is told, and what was done yesterday by another's calendar does not come late.
func TestAMeetingInTwoZonesAsItIsStruck(t *testing.T) {
	t.Parallel()
	now := at(t, "2026-02-01")
	s := newStage(t, func() time.Time { return now })
	g := agreed(t, lane{Register: s.Register, t: t})
	config := s.config()
	config.Compose = scheduler.Compose
	play := scheduler.NewPlay(config)
	to := func(text string) (told []string) {
		t.Helper()
		s.told = nil
		require.NoError(t, play.To(t.Context(), instant(t, text)))
		for _, n := range s.told {
			if strings.Contains(n.Title, "swap 1") || strings.Contains(n.Title, "Swap 1") {
				require.NotContains(t, n.Text, "comes late")
				told = append(told, n.Member.Name+", "+n.Day.String()+": "+n.Title)
			}
		}
		return told
	}
	to("2026-02-12T20:00:00Z")
	_, err := g.Meet(t.Context(), register.Actor{Member: g.maren.ID, At: instant(t, "2026-02-12T21:00:00Z")},
		register.Appointment{Swap: g.swap, Day: day(t, "2026-02-14"), Hour: 10, Spot: "the market"})
	require.NoError(t, err)
	require.Equal(t, []string{"Oona, 2026-02-12: Swap 1: day and hour appointed"}, to("2026-02-12T21:01:00Z"), "it is Friday there")
	require.Empty(t, to("2026-02-13T17:59:00Z"))
	require.Equal(t, []string{"Oona, 2026-02-14: To receive: swap 1"}, to("2026-02-13T18:00:00Z"))
	require.Empty(t, to("2026-02-14T06:59:00Z"))
	require.Equal(t, []string{"Maren, 2026-02-14: To hand over: swap 1"}, to("2026-02-14T07:00:00Z"))
	require.Empty(t, to("2026-02-15T20:00:00Z"))
}
