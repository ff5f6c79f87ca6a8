package requests

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// yearAgo gives the week around the same weekday of the year before.
func yearAgo(today calendar.Day) (from, to calendar.Day) {
	const weeks = 52 * 7
	return today.Add(-weeks - 3), today.Add(-weeks + 3)
}

// How much is remembered of a week: of the notes, where they are not listed by themselves, and of what was recorded.
const (
	mostRemembered = 5
	mostDone       = 12
)

// yearBefore tells what was written and done a year ago this week. The notes are told where they are not what is listed,
// and nothing where a spot is asked for or another week.
func (c counter) yearBefore(ctx context.Context, in *bot.In, seat register.Seat, d register.Diary, when string) (string, error) {
	if when == thisWeek {
		return "", nil
	}
	d.From, d.To = yearAgo(in.Today())
	var lines []remembered
	if when == "" {
		notes, err := c.reg.Notes(ctx, seat.Member, d, mostRemembered)
		if err != nil {
			return "", err
		}
		for _, n := range notes {
			lines = append(lines, remembered{n.On, noteOf(n), glimpse(n.Words)})
		}
	}
	if d.Spot == "" { // what is recorded of plants has no spot of its own
		done, err := c.doneThen(ctx, seat, d)
		if err != nil {
			return "", err
		}
		lines = append(lines, done...)
	}
	if len(lines) == 0 {
		return "", nil
	}
	slices.SortStableFunc(lines, func(a, b remembered) int { return cmp.Compare(b.on, a.on) })
	told := []string{"A year ago this week:"}
	if when == aYearAgo {
		told[0] = "What you recorded that week:"
	}
	for _, l := range lines {
		told = append(told, l.String())
	}
	return strings.Join(told, "\n"), nil
}

// remembered is one line of a week: "Fri 20 Nov 2026, Saltmarsh 26-1: leaf spots, and they were rust".
type remembered struct {
	on    calendar.Day
	what  string
	words string // the grower's own
}

func (r remembered) String() string {
	line := r.on.Long()
	if r.what != "" {
		line += ", " + r.what
	}
	if r.words != "" {
		line += ": " + r.words
	}
	return line
}

// doneThen gives what a member did and saw in some days.
func (c counter) doneThen(ctx context.Context, seat register.Seat, d register.Diary) ([]remembered, error) {
	events, reports, err := c.reg.Past(ctx, seat.Member, d, mostDone)
	var lines []remembered
	for _, e := range events {
		l := remembered{on: e.On, what: didThen(e, pinch(seat))}
		if e.Note != "" {
			l.words = glimpse(e.Note)
		}
		lines = append(lines, l)
	}
	for _, r := range reports {
		lines = append(lines, remembered{on: r.Seen, what: r.PestName() + " on " + some(marksOf(r.Batches), 3) + ", " + r.Sure.Words()})
	}
	return lines, err
}

// didThen tells what was done: "stop Saltmarsh", "Saltmarsh in bloom", "24 stems of Saltmarsh picked".
func didThen(e register.Event, pinch bool) string {
	switch {
	case e.Deed == register.SawBloom && e.Step == crop.Pick && e.Count > 0:
		return plural(e.Count, "stem", "stems") + " of " + e.Name + " picked"
	case e.Deed == register.SawBloom && e.Step == crop.Pick:
		return e.Name + " picked"
	case e.Deed == register.SawBloom:
		return e.Name + " in bloom"
	case e.Deed == register.Counted:
		return fmt.Sprintf("%s counted, %d there", e.Name, e.Count)
	}
	return eventWords(e, pinch)
}
