package ical_test

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/bot/ical"
	"shortday/knowledge/calendar"
)

var stamp = time.Date(2027, time.March, 1, 7, 0, 0, 0, time.FixedZone("", 3600))

func write(t require.TestingT, events ...ical.Event) []byte {
	data, err := ical.Write(ical.Calendar{Name: "Oona, Tallow Lane Growers", Stamp: stamp, Events: events})
	require.NoError(t, err)
	return data
}

// RFC 5545: 3.1 (lines), 3.6 and 3.6.1 (what a calendar and an event must have), 3.8.2.2 (the end is exclusive).
func TestBytes(t *testing.T) {
	t.Parallel()
	data := write(t, ical.Event{
		UID: "7-stop@a1.shortday", Sequence: 2, Day: calendar.DayOf(2028, time.February, 29), Title: "Stop: “Gilt”, Ёлка; 日本の菊\\n",
		Description: strings.Repeat("Vergißmeinnicht, 花 und noch mehr; ", 12) + "\nzweite Zeile", Alarm: ical.EveningBefore,
	})
	lines := bytes.SplitAfter(data, []byte("\r\n"))
	require.Empty(t, lines[len(lines)-1], "the last line is ended too")
	for _, line := range lines {
		body := bytes.TrimSuffix(line, []byte("\r\n"))
		require.NotContains(t, string(body), "\n")
		require.NotContains(t, string(body), "\r")
		require.LessOrEqual(t, len(body), 75, "%s", body)
		require.True(t, utf8.Valid(body), "a character is never parted: %q", body)
	}
	text := strings.ReplaceAll(string(data), "\r\n ", "")
	for _, want := range []string{"BEGIN:VCALENDAR", "VERSION:2.0", `PRODID:-//Shortday//EN`, "METHOD:PUBLISH", "BEGIN:VEVENT", "UID:7-stop@a1.shortday",
		"DTSTAMP:20270301T060000Z", "SEQUENCE:2", "DTSTART;VALUE=DATE:20280229", "DTEND;VALUE=DATE:20280301", "STATUS:CONFIRMED",
		"TRANSP:TRANSPARENT", "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:-PT6H", "END:VALARM", "END:VEVENT", "END:VCALENDAR"} {
		require.Regexp(t, `(?m)^`+regexp.QuoteMeta(want)+`\r?$`, text)
	}
	require.Contains(t, text, `SUMMARY:Stop: “Gilt”\, Ёлка\; 日本の菊\\n`)
	require.Contains(t, text, `\nzweite Zeile`)
}

// RFC 5545: 3.3.5 (an instant in UTC ends with Z and names no zone), 3.6.1 (an event with an instant and without an end
// takes no time), 3.8.1.7 (the place), 3.8.6.3 (an alarm before its beginning).
func TestAnInstant(t *testing.T) {
	t.Parallel()
	night := time.Date(2027, time.October, 31, 2, 30, 0, 0, time.FixedZone("", 7200))
	text := strings.ReplaceAll(string(write(t, ical.Event{UID: "swap-4-2@x", At: night, Title: "Hand over: 6 plants of Gilt", Place: "The mill; old, and far", Alarm: ical.HourBefore})), "\r\n ", "")
	for _, want := range []string{"DTSTART:20271031T003000Z", `LOCATION:The mill\; old\, and far`, "TRANSP:OPAQUE", "TRIGGER:-PT1H"} {
		require.Contains(t, text, want+"\r\n")
	}
	require.NotContains(t, text, "DTEND")
	require.NotContains(t, text, "VALUE=DATE")
	require.NotContains(t, text, "TZID")
}

func TestCancelledAndDoneCallNobody(t *testing.T) {
	t.Parallel()
	text := string(write(t,
		ical.Event{UID: "a", Day: 20000, Title: "A", Cancelled: true, Alarm: ical.SameEvening},
		ical.Event{UID: "b", Day: 20000, Title: "B", Done: true, Alarm: ical.SameEvening}))
	require.Contains(t, text, "STATUS:CANCELLED\r\n")
	require.NotContains(t, text, "VALARM")
}

// Whatever stands in the words, what is read back is what was written.
func TestReadBack(t *testing.T) {
	t.Parallel()
	words := rapid.StringMatching(`[ -~äßж花🌼\\,;:"]{1,120}`)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 5).Draw(t, "events")
		var events []ical.Event
		for i := range n {
			events = append(events, ical.Event{
				UID: string(rune('a'+i)) + "@x", Sequence: rapid.IntRange(0, 99).Draw(t, "sequence"),
				Day:   calendar.DayOf(2026, time.January, 1).Add(rapid.IntRange(0, 2000).Draw(t, "day")),
				Title: "Title " + words.Draw(t, "title") + ".", Description: words.Draw(t, "description") + "\n" + words.Draw(t, "line") + ".",
				Cancelled: rapid.Bool().Draw(t, "cancelled"),
			})
		}
		cal, err := ics.ParseCalendar(bytes.NewReader(write(t, events...)))
		require.NoError(t, err)
		require.Len(t, cal.Events(), n)
		for i, e := range cal.Events() {
			require.Equal(t, events[i].UID, e.Id())
			require.Equal(t, events[i].Title, e.GetProperty(ics.ComponentPropertySummary).Value)
			require.Equal(t, events[i].Description, e.GetProperty(ics.ComponentPropertyDescription).Value)
			start, err := e.GetAllDayStartAt()
			require.NoError(t, err)
			end, err := e.GetAllDayEndAt()
			require.NoError(t, err)
			require.Equal(t, events[i].Day, calendar.DayAt(start))
			require.Equal(t, events[i].Day.Add(1), calendar.DayAt(end))
		}
	})
}

func BenchmarkWrite(b *testing.B) {
	var events []ical.Event
	for i := range 400 {
		events = append(events, ical.Event{UID: "x", Day: calendar.Day(20000 + i), Title: "Stop: Saltmarsh", Description: strings.Repeat("words ", 30), Alarm: ical.EveningBefore})
	}
	b.ReportAllocs()
	for b.Loop() {
		b.SetBytes(int64(len(write(b, events...))))
	}
}
