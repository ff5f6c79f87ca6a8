package requests_test

import (
	"bytes"
	"fmt"
	"log/slog"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
)

// desk of one grower with a target.
type shed struct {
	*testing.T
	reg  *register.Register
	desk *bot.Desk
	ask  bot.Ask
}

func newShed(t *testing.T) *shed {
	t.Helper()
	reg, err := register.Open(t.Context(), filepath.Join(t.TempDir(), "shortday.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	s := &shed{T: t, reg: reg, desk: requests.NewDesk(reg, slog.New(slog.DiscardHandler)),
		ask: bot.Ask{Coop: bot.Party{Key: "c", Name: "Tallow Lane Growers"}, Who: bot.Party{Key: "o", Name: "Oona"}, At: time.Date(2027, 1, 10, 9, 0, 0, 0, time.UTC)}}
	s.say("/grower place place:53.1,-6.7 zone:Europe/Dublin last-frost:\"5 may\" first-frost:\"25 oct\" cover:yes")
	s.say("/variety add name:Saltmarsh like:\"late spray\" protection:free")
	s.say("/stock add variety:Saltmarsh count:12 stage:boxed since:2026-11-20")
	s.say("/target set variety:Saltmarsh bloom:2027-11-08 stems:60")
	return s
}

func (s *shed) say(request string) bot.Reply {
	s.Helper()
	reply := s.desk.AnswerLine(s.Context(), s.ask, request)
	require.Nil(s, reply.Refusal, "%s: %v", request, reply.Refusal)
	return reply
}

type entry struct {
	day       calendar.Day
	sequence  int
	cancelled bool
}

func (s *shed) calendar() map[string]entry {
	s.Helper()
	reply := s.say("/plan calendar")
	require.Len(s, reply.Files, 1)
	require.True(s, reply.Private)
	cal, err := ics.ParseCalendar(bytes.NewReader(reply.Files[0].Data))
	require.NoError(s, err)
	all := map[string]entry{}
	for _, e := range cal.Events() {
		start, err := e.GetAllDayStartAt()
		require.NoError(s, err)
		sequence, err := strconv.Atoi(e.GetProperty(ics.ComponentPropertySequence).Value)
		require.NoError(s, err)
		_, twice := all[e.Id()]
		require.False(s, twice, e.Id())
		all[e.Id()] = entry{calendar.DayAt(start), sequence, e.GetProperty(ics.ComponentPropertyStatus).Value == "CANCELLED"}
	}
	return all
}

// A second import moves events and never doubles them; what was skipped or dropped stays, cancelled, with a higher number.
func TestCalendarIsThePlan(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	first := s.calendar()
	all, err := s.reg.Export(t.Context(), 1)
	require.NoError(t, err)
	require.Len(t, first, len(all.Jobs), "those of the plan that the target took over are cancelled")
	for _, j := range all.Jobs {
		found := false
		for uid, e := range first {
			mine := strings.HasPrefix(uid, fmt.Sprintf("%d-%s@", j.Plan, j.Kind))
			found = found || mine && e == entry{j.Due, j.Seq, j.State == register.JobDropped}
		}
		require.True(t, found, "%s on %s", j.Kind, j.Due)
	}

	s.say("/job later job:\"stop Saltmarsh\" to:2027-06-20")
	s.say("/job skip job:\"harden off Saltmarsh\"")
	second := s.calendar()
	moved, cancelled := 0, 0
	for uid, was := range first {
		is, still := second[uid]
		require.True(t, still, "nothing is forgotten: %s", uid)
		switch {
		case is == was:
		case is.cancelled && !was.cancelled:
			cancelled++
			require.Greater(t, is.sequence, was.sequence)
		default:
			moved++
			require.Greater(t, is.sequence, was.sequence)
		}
	}
	require.Positive(t, moved)
	require.Equal(t, 1, cancelled)

	s.say("/target drop target:\"Saltmarsh 2027-11-08\"")
	for uid, is := range s.calendar() {
		if was, ours := second[uid]; ours && !was.cancelled && !is.cancelled {
			t.Fatalf("%s of a dropped target still stands", uid)
		} else if ours && !was.cancelled {
			require.Greater(t, is.sequence, was.sequence)
		}
	}
}

func TestCalendarAddress(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	require.NoError(t, s.reg.ServeFeeds(t.Context(), "http://127.0.0.1:8470"))
	s.say("/plan calendar address:show")
	token, err := s.reg.Feed(t.Context(), 1)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(token), 26)
	require.Contains(t, s.say("/plan calendar address:show").Text, "http://127.0.0.1:8470/"+token+".ics")
	opens := func(token string) bool {
		file, ok, err := requests.FeedFile(t.Context(), s.reg, token, s.ask.At)
		require.NoError(t, err)
		require.Equal(t, ok, len(file.Data) > 0)
		return ok
	}
	require.True(t, opens(token))
	require.False(t, opens(""))
	require.False(t, opens(token[1:]))
	s.say("/plan calendar address:new")
	require.False(t, opens(token), "an old address no longer serves")
	again, err := s.reg.Feed(t.Context(), 1)
	require.NoError(t, err)
	require.True(t, opens(again))
	s.say("/plan calendar address:none")
	require.False(t, opens(again))
}

// A handover stands at its hour in the calendars of both, each with an event of their own; moved it moves, and called
// off, or with the end of its swap, it is cancelled.
func TestAHandoverInTheCalendarsOfBoth(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	maren := *s
	maren.ask.Who = bot.Party{Key: "m", Name: "Maren"}
	maren.say("/grower place zone:Europe/Berlin")
	maren.say("/stock add variety:Saltmarsh count:9 stage:potted")
	maren.say(`/swap offer batch:27-1 number:4 where:"the mill"`)
	s.say("/swap want variety:Saltmarsh number:4 stock:plants until:\"20 feb\"")
	s.say("/swap match propose:yes")
	s.say("/swap agree 1")
	maren.say("/swap agree 1")
	type timed struct {
		title, start, place, status string
		sequence                    int
	}
	uids := map[string]bool{}
	of := func(who *shed) (found timed) {
		t.Helper()
		reply := who.say("/plan calendar")
		cal, err := ics.ParseCalendar(bytes.NewReader(reply.Files[0].Data))
		require.NoError(t, err)
		for _, e := range cal.Events() {
			if strings.HasPrefix(e.Id(), "swap-") {
				require.Empty(t, found.title, "one event")
				uids[e.Id()] = true
				value := func(p ics.ComponentProperty) string { return e.GetProperty(p).Value }
				found = timed{title: value(ics.ComponentPropertySummary), start: value(ics.ComponentPropertyDtStart), place: value(ics.ComponentPropertyLocation), status: value(ics.ComponentPropertyStatus)}
				found.sequence, err = strconv.Atoi(value(ics.ComponentPropertySequence))
				require.NoError(t, err)
			}
		}
		return found
	}
	require.Empty(t, of(s).title, "while no hour is appointed")
	maren.say("/swap meet swap:1 day:\"6 feb\" hour:10:00")
	require.Equal(t, timed{"Hand over: 4 plants of Saltmarsh", "20270206T090000Z", "the mill", "CONFIRMED", 0}, of(&maren))
	require.Equal(t, timed{"Receive: 4 plants of Saltmarsh", "20270206T090000Z", "the mill", "CONFIRMED", 0}, of(s))
	s.say(`/swap meet swap:1 day:"7 feb" hour:10:00 where:"the quay"`)
	require.Equal(t, timed{"Receive: 4 plants of Saltmarsh", "20270207T100000Z", "the quay", "CONFIRMED", 1}, of(s), "by her own clock")
	s.say("/swap meet swap:1 off:yes")
	require.Equal(t, timed{"Hand over: 4 plants of Saltmarsh", "20270207T100000Z", "the quay", "CANCELLED", 2}, of(&maren))
	s.say(`/swap meet swap:1 day:"8 feb" hour:10:00`)
	require.Equal(t, "CONFIRMED", of(&maren).status)
	maren.say("/swap cancel swap:1 why:frost")
	require.Equal(t, timed{"Receive: 4 plants of Saltmarsh", "20270208T100000Z", "the mill", "CANCELLED", 6}, of(s))
	require.Len(t, uids, 2)
}
