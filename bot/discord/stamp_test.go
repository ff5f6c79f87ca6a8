package discord_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/bot"
	"shortday/bot/discord"
	"shortday/knowledge/calendar"
)

func struck(t *testing.T, day calendar.Day, hour, minute int, zone, reader string) calendar.Instant {
	t.Helper()
	told, err := time.LoadLocation(zone)
	require.NoError(t, err)
	at, ok := calendar.At(day, hour, minute, told)
	require.True(t, ok)
	i := calendar.Instant{At: at}
	if reader != "" {
		i.Reader, err = time.LoadLocation(reader)
		require.NoError(t, err)
	}
	return i
}

// meeting is a request whose reply names instants, in its text and in rows of even letters.
func meeting(r bot.Reply) bot.Family {
	return bot.Family{Name: "meeting", Help: "When it is", Requests: []bot.Request{{Help: "When", Examples: []string{"/meeting"},
		Handle: func(context.Context, *bot.In) (bot.Reply, error) { return r, nil }}}}
}

// shown gives what is shown of a reply.
func shown(t *testing.T, r bot.Reply) string {
	t.Helper()
	c := outfit(t)
	c.more = []bot.Family{meeting(r)}
	c.open(t, discord.Homes{}, discord.Servers{})
	return c.ask(t, "/meeting", nil).Embeds[0].Description
}

// TestInstants: beside the words stands the platform's own mark, which each reader sees by their own clock; and only there.
func TestInstants(t *testing.T) {
	t.Parallel()
	saturday := calendar.DayOf(2026, time.March, 14)
	own := struck(t, saturday, 10, 0, "Europe/Dublin", "Europe/Dublin")
	other := struck(t, saturday, 10, 0, "Europe/Dublin", "America/New_York")
	rows := bot.Table{Columns: bot.Columns("swap", "hour")}
	rows.Add(bot.Text("1"), bot.Text(own.String()))
	for name, c := range map[string]struct {
		reply bot.Reply
		want  string
	}{
		"one zone": {
			bot.Reply{Text: "Handed over: the market, " + own.String() + ".", Instants: []calendar.Instant{own}},
			"Handed over: the market, Sat 14 Mar 2026, 10:00 (by your clock <t:1773482400:F>).",
		},
		"two zones, the shorter words first": {
			bot.Reply{Text: own.String() + "\n\n" + other.String(), Instants: []calendar.Instant{own, other}},
			"Sat 14 Mar 2026, 10:00 (by your clock <t:1773482400:F>)\n\n" +
				"Sat 14 Mar 2026, 10:00 in Europe/Dublin, which is 06:00 in America/New\\_York (by your clock <t:1773482400:F>)",
		},
		"a place that would be a mark": {
			bot.Reply{Text: "<t:1:F> and <t:1773482400:R>, " + own.String(), Instants: []calendar.Instant{own}},
			"\\<t:1:F> and \\<t:1773482400:R>, Sat 14 Mar 2026, 10:00 (by your clock <t:1773482400:F>)",
		},
		"days stay days": {
			bot.Reply{Text: "From " + saturday.Long() + " on."}, "From Sat 14 Mar 2026 on.",
		},
		"even letters show no marks": {
			bot.Reply{Text: "Handed over.", Rows: rows, Instants: []calendar.Instant{own}},
			"Handed over.\n\n```\nswap  hour\n1     Sat 14 Mar 2026, 10:00\n```",
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, c.want, shown(t, c.reply))
		})
	}
}

// Whatever is typed around an instant, there are as many marks as instants named, and none of them is somebody's own.
func TestNobodyTypesAMark(t *testing.T) {
	t.Parallel()
	i := struck(t, calendar.DayOf(2026, time.March, 14), 10, 0, "Europe/Dublin", "America/New_York")
	typed := rapid.Custom(func(t *rapid.T) string {
		bits := rapid.SampledFrom([]string{"<t:1:F>", "<t:", ":F>", "<", "\\", "`", "```", "**", "_", "\n", " ", "a", "Sat 14 Mar 2026, 10:00", "1", ".", "<@1>", "é", "日"})
		return strings.Join(rapid.SliceOfN(bits, 0, 12).Draw(t, "bits"), "")
	})
	rapid.Check(t, func(t *rapid.T) {
		text := typed.Draw(t, "before") + i.String() + typed.Draw(t, "after")
		shown := discord.Shown(text, []calendar.Instant{i})
		require.Equal(t, strings.Count(text, i.String()), marks(shown), "%q becomes %q", text, shown)
		require.Zero(t, marks(discord.Shown(text, nil)))
	})
}

// marks counts the marks of instants that do something: a backslash takes its meaning from the sign after it.
func marks(text string) (n int) {
	for at := 0; at < len(text); at++ {
		switch {
		case text[at] == '\\':
			at++
		case strings.HasPrefix(text[at:], "<t:"):
			n++
		}
	}
	return n
}

// TestInstantsOnTheNightOfAChange: what the words leave in doubt the mark does not.
func TestInstantsOnTheNightOfAChange(t *testing.T) {
	t.Parallel()
	spring := struck(t, calendar.DayOf(2026, time.March, 29), 2, 30, "Europe/Berlin", "Europe/Dublin")
	first := struck(t, calendar.DayOf(2026, time.October, 25), 2, 30, "Europe/Berlin", "Europe/Berlin")
	second := first
	second.At = second.At.Add(time.Hour)
	text := fmt.Sprintf("%s\n\n%s\n\n%s", spring, first, second)
	require.Equal(t, "Sun 29 Mar 2026, 03:00 in Europe/Berlin, which is 02:00 in Europe/Dublin (by your clock <t:1774746000:F>)\n\n"+
		"Sun 25 Oct 2026, 02:30 (the first of two) (by your clock <t:1792888200:F>)\n\n"+
		"Sun 25 Oct 2026, 02:30 (the second of two) (by your clock <t:1792891800:F>)",
		shown(t, bot.Reply{Text: text, Instants: []calendar.Instant{spring, first, second}}))
}

// TestInstantsInNotices: the group reads them with their zone named, and a member by their own clock.
func TestInstantsInNotices(t *testing.T) {
	t.Parallel()
	p := office(t)
	saturday := calendar.DayOf(2026, time.March, 14)
	group := struck(t, saturday, 10, 0, "Europe/Dublin", "")
	n := p.notice("n1")
	n.Text, n.Instants = "The market opens: "+group.String()+".", []calendar.Instant{group}
	_, err := p.platform.Deliver(t.Context(), n)
	require.NoError(t, err)
	require.Contains(t, p.channel.Messages()[0].Text(), "The market opens: Sat 14 Mar 2026, 10:00 in Europe/Dublin (by your clock <t:1773482400:F>).")

	member := struck(t, saturday, 10, 0, "Europe/Dublin", "Pacific/Auckland")
	n = p.reminder("r1")
	n.Text, n.Instants = "Handed over: the <t:1:F>, "+member.String()+".", []calendar.Instant{member}
	_, err = p.platform.Deliver(t.Context(), n)
	require.NoError(t, err)
	require.Contains(t, p.member.User.Direct().Messages()[0].Text(),
		"Handed over: the \\<t:1:F>, Sat 14 Mar 2026, 10:00 in Europe/Dublin, which is 23:00 in Pacific/Auckland (by your clock <t:1773482400:F>).")
}
