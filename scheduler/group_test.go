package scheduler_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

// crowd is a random co-op of up to 45 members and 700 open jobs, each of a plan of its own.
func crowd() *rapid.Generator[[]register.OpenJob] {
	return rapid.Custom(func(t *rapid.T) []register.OpenJob {
		name := rapid.Map(rapid.StringOfN(rapid.RuneFrom([]rune("abcdefgh iøßé花")), 1, 60, -1), strings.TrimSpace)
		members := rapid.SliceOfN(name, 1, 45).Draw(t, "members")
		names := rapid.SliceOfN(name, 1, 20).Draw(t, "varieties")
		days := rapid.IntRange(1, 40).Draw(t, "days")
		jobs := make([]register.OpenJob, rapid.IntRange(1, 700).Draw(t, "jobs"))
		seed := rapid.Uint64().Draw(t, "seed")
		pick := func(n int) int { // drawing each would take long
			seed = seed*6364136223846793005 + 1442695040888963407
			return int(seed>>33) % n
		}
		for i := range jobs {
			m := pick(len(members))
			j := register.Job{Plan: int64(i + 1), Kind: crop.Kinds()[pick(len(crop.Kinds()))], Member: int64(m + 1), Owner: members[m],
				Name: names[pick(len(names))], Due: first + calendar.Day(pick(days))}
			if pick(4) == 0 {
				j.LastSafe, j.Lost = j.Due.Add(pick(20)), "shoots of a later stop are too short and too soft to bloom well before the season ends"
			}
			jobs[i] = register.OpenJob{Job: j}
		}
		return jobs
	})
}

const first = calendar.Day(739700)

// TestEveryJobIsToldOnce goes on day by day, with some jobs done once they were told, till nothing is left to say.
func TestEveryJobIsToldOnce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		open := crowd().Draw(t, "jobs")
		every := rapid.IntRange(1, 4).Draw(t, "every")
		weekAhead := rapid.IntRange(-1, 6).Draw(t, "week ahead")
		diligent := rapid.IntRange(0, 3).Draw(t, "diligent")
		told := map[register.Word]int{}
		quiet := 0
		for day := first; quiet < 3; day = day.Add(every) {
			n := scheduler.GroupNotice(open, day, day.Add(every), weekAhead)
			require.True(t, n.Fits(), n.Text)
			require.LessOrEqual(t, utf8.RuneCountInString(n.Title+n.Text), 1500)
			require.LessOrEqual(t, strings.Count(n.Text, "\n")+4+len(n.Next), 25)
			said := map[register.Word]bool{}
			for _, w := range n.Said {
				told[w]++
				require.Equal(t, 1, told[w], "%v", w)
				said[w] = true
			}
			var left []register.OpenJob
			for i, j := range open {
				was := j.Told
				j.Told.Due = was.Due || said[register.Word{Plan: j.Plan, Step: j.Kind, About: register.SayDue, On: j.Due}]
				j.Told.Overdue = was.Overdue || said[register.Word{Plan: j.Plan, Step: j.Kind, About: register.SayOverdue, On: j.Due}]
				j.Told.Ahead = was.Ahead || said[register.Word{Plan: j.Plan, Step: j.Kind, About: register.SayAhead}]
				j.Told.LastSafe = was.LastSafe || said[register.Word{Plan: j.Plan, Step: j.Kind, About: register.SayLastSafe, On: j.LastSafe}]
				if told := j.Told.Due || j.Told.Overdue; !told || i%4 >= diligent {
					left = append(left, j)
				}
			}
			open = left
			if quiet++; len(said) > 0 || day < first+60 {
				quiet = 0
			}
			require.Less(t, day, first+400, "it never ends")
		}
		for _, j := range open {
			require.True(t, j.Told.Overdue, "%s of %s is never told", j.Kind, j.Owner)
		}
	})
}
