package register_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
)

// agreedSwap is Piet's gift to Nora, to be handed over from 1 February to 13 March.
func agreedSwap(t *testing.T) (*lane, register.Swap) {
	t.Helper()
	l := swapLane(t)
	l.offers("Piet", "Gilt", 6)
	l.wants("Nora", "Gilt", 4)
	return l, l.agree(l.propose()[0], "Nora", "Piet").Swaps[0]
}

// lives moves a member to a zone.
func (l *lane) lives(who, zone string) {
	l.t.Helper()
	_, err := l.SetMember(l.t.Context(), l.who(who), register.Metric, 3, place.Place{Zone: zone})
	require.NoError(l.t, err)
}

// says gives what a member is newly told.
func (l *lane) says(who string) []register.TidingKind {
	l.t.Helper()
	told := l.told(who)
	all, err := l.Tidings(l.t.Context(), 1000)
	require.NoError(l.t, err)
	for _, tiding := range all {
		if tiding.Member == l.people[who].ID {
			require.NoError(l.t, l.TakeTiding(l.t.Context(), tiding.ID, noon(l.t, l.on), nothing))
		}
	}
	return told
}

func appointment(t *testing.T, s register.Swap, on string, hour, minute int) register.Appointment {
	return register.Appointment{Swap: s.ID, Day: day(t, on), Hour: hour, Minute: minute, Spot: "the market"}
}

func TestAHandoverIsAppointed(t *testing.T) {
	t.Parallel()
	l, s := agreedSwap(t)
	l.lives("Nora", "Pacific/Auckland")
	l.says("Nora")
	l.says("Piet")
	s, err := l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-02-14", 10, 0))
	require.NoError(t, err)
	require.True(t, s.Meets())
	require.True(t, s.Meeting.At.Equal(time.Date(2026, time.February, 14, 9, 0, 0, 0, time.UTC)), "an hour of Amsterdam")
	require.Equal(t, "Europe/Amsterdam", s.Meeting.At.Location().String())
	require.Equal(t, []register.TidingKind{register.TellMeeting}, l.says("Nora"))
	require.Empty(t, l.says("Piet"), "who appoints it knows")

	_, err = l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-02-14", 10, 0))
	refused(t, fault.Taken, "already", err)
	moved := appointment(t, s, "2026-02-15", 9, 30)
	moved.Spot = ""
	s, err = l.Meet(t.Context(), l.who("Nora"), moved)
	require.NoError(t, err)
	require.True(t, s.Meeting.At.Equal(time.Date(2026, time.February, 14, 20, 30, 0, 0, time.UTC)), "an hour of Auckland")
	require.Equal(t, "the market", s.Meeting.Spot, "where it was to be before")
	require.Equal(t, 1, s.Meeting.Seq)
	require.Equal(t, []register.TidingKind{register.TellMoved}, l.says("Piet"))

	s, err = l.CallOff(t.Context(), l.who("Piet"), s.ID)
	require.NoError(t, err)
	require.False(t, s.Meets())
	require.Equal(t, register.Agreed, s.State, "the swap stands")
	require.Equal(t, []register.TidingKind{register.TellOff}, l.says("Nora"))
	_, err = l.CallOff(t.Context(), l.who("Piet"), s.ID)
	refused(t, fault.Missing, "nothing to call off", err)
	_, err = l.Meet(t.Context(), l.who("Piet"), moved)
	refused(t, fault.Unclear, "with where:", err)

	moved.Spot = "the ferry"
	s, err = l.Meet(t.Context(), l.who("Piet"), moved)
	require.NoError(t, err)
	require.Equal(t, []register.TidingKind{register.TellMeeting}, l.says("Nora"))
	require.Equal(t, 3, s.Meeting.Seq)
}

func TestAHandoverIsNotAppointed(t *testing.T) {
	t.Parallel()
	l, s := agreedSwap(t)
	l.people["Rosa"] = l.enter("rosa", "Rosa")
	for name, c := range map[string]struct {
		who, on string
		hour    int
		kind    fault.Kind
		says    string
	}{
		"by another":     {"Rosa", "2026-02-14", 10, fault.Barred, "between Piet and Nora"},
		"in the past":    {"Piet", "2026-01-31", 10, fault.Unclear, "Sat 31 Jan 2026, 10:00 has passed"},
		"an hour ago":    {"Piet", "2026-02-01", 12, fault.Unclear, "has passed"},
		"after the last": {"Nora", "2026-03-14", 10, fault.Unclear, "until Fri 13 Mar 2026 only"},
	} {
		_, err := l.Meet(t.Context(), l.who(c.who), appointment(t, s, c.on, c.hour, 0))
		refused(t, c.kind, c.says, err)
		now, err := l.Swap(t.Context(), s.ID)
		require.NoError(t, err)
		require.Equal(t, s, now, name)
	}
	l.lives("Piet", "Pacific/Apia") // which never had 30 December 2011, but that has long passed
	_, err := l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2011-12-30", 10, 0))
	refused(t, fault.Unclear, "leaves Fri 30 Dec 2011 out", err)
	l.lives("Piet", "")
	_, err = l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-02-14", 10, 0))
	refused(t, fault.Missing, "/grower place zone:", err)

	l.lives("Piet", "Europe/Amsterdam")
	_, err = l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: s.ID})
	require.NoError(t, err)
	_, err = l.Meet(t.Context(), l.who("Nora"), appointment(t, s, "2026-02-14", 10, 0))
	refused(t, fault.Taken, "given on Sun 1 Feb 2026 already", err)
	_, err = l.CallOff(t.Context(), l.who("Nora"), s.ID)
	refused(t, fault.Taken, "given on Sun 1 Feb 2026 already", err)
}

func moment(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	require.NoError(t, err)
	return at
}

func TestBothAreRemindedOnceOnTheMorning(t *testing.T) {
	t.Parallel()
	l, s := agreedSwap(t)
	l.lives("Nora", "Pacific/Auckland")
	l.says("Nora")
	l.says("Piet")
	meet := func(today, on string, hour int) {
		t.Helper()
		l.on = today
		_, err := l.Meet(t.Context(), l.who("Piet"), appointment(t, s, on, hour, 0))
		require.NoError(t, err)
		require.Len(t, l.says("Nora"), 1)
	}
	remind := func(at string, nora, piet int) {
		t.Helper()
		require.NoError(t, l.RemindOfMeetings(t.Context(), moment(t, at)))
		for _, c := range []struct {
			who  string
			want int
		}{{"Nora", nora}, {"Piet", piet}} {
			told := l.says(c.who)
			require.Len(t, told, c.want, "%s at %s", c.who, at)
			require.Equal(t, c.want, strings.Count(fmt.Sprint(told), string(register.TellMeets)))
		}
		pulse, err := l.Pulse(t.Context(), register.Terminal, register.Whose{})
		require.NoError(t, err)
		require.True(t, pulse.Meets.IsZero() || pulse.Meets.After(moment(t, at)))
	}
	meet("2026-02-02", "2026-02-14", 10) // 9:00 UTC, 22:00 in Auckland
	pulse, err := l.Pulse(t.Context(), register.Terminal, register.Whose{})
	require.NoError(t, err)
	require.True(t, pulse.Meets.Equal(moment(t, "2026-02-14T07:00:00+13:00")))
	remind("2026-02-14T06:59:59+13:00", 0, 0)
	remind("2026-02-14T07:00:00+13:00", 1, 0)
	remind("2026-02-14T08:00:00+13:00", 0, 0)
	remind("2026-02-14T07:00:00+01:00", 0, 1)
	remind("2026-02-14T07:30:00+01:00", 0, 0)

	meet("2026-02-14", "2026-02-16", 8) // too early for its morning; 20:00 in Auckland
	remind("2026-02-15T17:59:59+01:00", 0, 0)
	remind("2026-02-15T18:00:00+01:00", 0, 1)
	remind("2026-02-15T20:00:00+01:00", 1, 0)

	meet("2026-02-17", "2026-02-17", 20) // 8:00 on the next day in Auckland: its evening before has come when it is told
	remind("2026-02-18T06:00:00+01:00", 0, 0)

	meet("2026-02-18", "2026-02-20", 10)
	remind("2026-02-20T10:00:00+01:00", 0, 0) // nothing ran before it

	meet("2026-02-20", "2026-02-22", 10)
	meet("2026-02-21", "2026-02-24", 10)
	remind("2026-02-22T09:30:00+01:00", 0, 0) // moved
	_, err = l.CallOff(t.Context(), l.who("Piet"), s.ID)
	require.NoError(t, err)
	l.says("Nora")
	remind("2026-02-24T09:30:00+01:00", 0, 0)

	meet("2026-02-24", "2026-02-28", 10)
	_, _, err = l.Cancel(t.Context(), l.who("Nora"), s.ID, "frost")
	require.NoError(t, err)
	l.says("Nora")
	l.says("Piet")
	remind("2026-02-28T09:30:00+01:00", 0, 0)
}

// A zone whose name is known no more keeps nobody from being reminded.
func TestAReminderWhereTheZoneIsKnownNoMore(t *testing.T) {
	t.Parallel()
	l, s := agreedSwap(t)
	_, err := l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-02-14", 10, 0))
	require.NoError(t, err)
	for _, change := range []string{`UPDATE meeting SET zone = 'Nowhere/Gone'`, `UPDATE member SET zone = 'Nowhere/Gone'`} {
		_, err = l.DB().ExecContext(t.Context(), change)
		require.NoError(t, err)
	}
	l.says("Nora")
	require.NoError(t, l.RemindOfMeetings(t.Context(), moment(t, "2026-02-14T06:00:00Z")))
	require.Equal(t, []register.TidingKind{register.TellMeets}, l.says("Nora"))
	s, err = l.Swap(t.Context(), s.ID)
	require.NoError(t, err)
	require.Equal(t, "UTC", s.Meeting.At.Location().String())
}

// On the night of a change the morning's hour is still the clock's.
func TestAReminderAfterAChangeOfTheClock(t *testing.T) {
	t.Parallel()
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	m := register.Meeting{At: moment(t, "2026-03-29T10:00:00+02:00").In(berlin), Changed: moment(t, "2026-03-20T10:00:00+01:00")}
	require.True(t, m.Word(berlin).Equal(moment(t, "2026-03-29T07:00:00+02:00")))
	m.At = moment(t, "2026-10-25T02:30:00+02:00").In(berlin)
	require.True(t, m.Word(berlin).Equal(moment(t, "2026-10-24T18:00:00+02:00")))
}

// While a day and hour that both know are still to come, the words of the first day and of the last are left out.
func TestAppointedHandoversAreNotUrged(t *testing.T) {
	t.Parallel()
	l, s := agreedSwap(t)
	_, err := l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-03-13", 10, 0))
	require.NoError(t, err)
	l.says("Nora")
	l.says("Piet")
	tend := func(at string) { require.NoError(t, l.Tend(t.Context(), l.nora.Coop, moment(t, at))) }
	tend("2026-02-02T06:00:00Z")
	tend("2026-03-13T06:00:00Z")
	require.NotContains(t, append(l.says("Piet"), l.says("Nora")...), register.TellDue)

	l, s = agreedSwap(t)
	_, err = l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-03-12", 10, 0))
	require.NoError(t, err)
	l.says("Nora")
	tend("2026-03-13T06:00:00Z")
	require.Contains(t, l.says("Nora"), register.TellDue, "its hour has passed, and today is the last day")
}

func TestAMeetingInTheListOfADayAndInACalendar(t *testing.T) {
	t.Parallel()
	l, s := agreedSwap(t)
	ctx := t.Context()
	handed := func(from, until string) int {
		swaps, err := l.Handovers(ctx, l.nora.Coop, 0, day(t, from), day(t, until))
		require.NoError(t, err)
		return len(swaps)
	}
	require.Equal(t, 1, handed("2026-02-14", "2026-02-14"))
	require.Equal(t, 1, handed("2026-02-16", "2026-02-20"))
	_, err := l.Meet(ctx, l.who("Piet"), appointment(t, s, "2026-02-14", 10, 0))
	require.NoError(t, err)
	require.Equal(t, 1, handed("2026-02-14", "2026-02-14"))
	require.Zero(t, handed("2026-02-16", "2026-02-20"))

	before := -1
	revised := func(who string) {
		t.Helper()
		swaps, err := l.CalendarSwaps(ctx, l.people[who].ID, day(t, "2026-02-14"))
		require.NoError(t, err)
		require.Len(t, swaps, 1)
		require.Greater(t, swaps[0].Revision(), before, "whatever changes, a calendar takes it up")
		before = swaps[0].Revision()
	}
	revised("Nora")
	_, err = l.CallOff(ctx, l.who("Piet"), s.ID)
	require.NoError(t, err)
	revised("Piet")
	require.Equal(t, 1, handed("2026-02-16", "2026-02-20"))
	_, err = l.Meet(ctx, l.who("Nora"), appointment(t, s, "2026-02-14", 10, 0))
	require.NoError(t, err)
	revised("Nora")
	_, err = l.Given(ctx, l.who("Piet"), register.Transfer{Swap: s.ID})
	require.NoError(t, err)
	revised("Nora")
	require.Equal(t, 1, handed("2026-02-16", "2026-02-20"), "on its way it is looked for on any day")
	_, _, err = l.Received(ctx, l.who("Nora"), register.Transfer{Swap: s.ID})
	require.NoError(t, err)
	revised("Nora")
	gone, err := l.CalendarSwaps(ctx, l.nora.ID, day(t, "2027-04-01"))
	require.NoError(t, err)
	require.Empty(t, gone)
}

// Who leaves takes the place and the clock with them; the other's calendar still hears that it came to nothing.
func TestAMeetingWhenAMemberLeaves(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ leaver, other string }{{"Piet", "Nora"}, {"Nora", "Piet"}} {
		l, s := agreedSwap(t)
		_, err := l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-02-14", 10, 0))
		require.NoError(t, err)
		x, err := l.Export(t.Context(), l.people[c.leaver].ID)
		require.NoError(t, err)
		require.Len(t, x.Swaps, 1)
		require.Equal(t, "the market", x.Swaps[0].Meeting.Spot)
		require.Len(t, x.Answers, 1)
		require.Equal(t, 1, len(x.Offers)+len(x.Wants))
		require.NoError(t, l.Leave(t.Context(), l.who(c.leaver)))
		swaps, err := l.CalendarSwaps(t.Context(), l.people[c.other].ID, day(t, "2026-02-14"))
		require.NoError(t, err)
		require.Len(t, swaps, 1)
		require.Equal(t, register.SwapCanceled, swaps[0].State)
		require.Equal(t, register.Meeting{At: noon(t, "2026-02-14").Add(-3 * time.Hour), Changed: noon(t, "2026-02-01")}, swaps[0].Meeting)
		require.NoError(t, l.Leave(t.Context(), l.who(c.other)))
		var left int
		require.NoError(t, l.DB().QueryRowContext(t.Context(), `SELECT count(*) FROM meeting`).Scan(&left))
		require.Zero(t, left)
	}
}

func TestAMeetingOfHeldPlants(t *testing.T) {
	t.Parallel()
	l, s := agreedSwap(t)
	_, err := l.DB().ExecContext(t.Context(), `INSERT INTO hold (batch, why, since, last) VALUES ($1, 'apart', '2026-02-01', '2026-02-20')`, s.Batch)
	require.NoError(t, err)
	_, err = l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-02-20", 10, 0))
	refused(t, fault.Later, "stands apart until Fri 20 Feb 2026", err)
	_, err = l.Meet(t.Context(), l.who("Piet"), appointment(t, s, "2026-02-21", 10, 0))
	require.NoError(t, err, "by then it is over")
}
