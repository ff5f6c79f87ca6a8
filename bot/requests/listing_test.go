package requests_test

import (
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/knowledge/listing"
	"shortday/knowledge/register"
)

// lister is a desk over a register of its own.
type lister struct {
	t    testing.TB
	desk *bot.Desk
	told []string // of progress
}

func newLister(t testing.TB) *lister {
	t.Helper()
	reg, err := register.Open(t.Context(), filepath.Join(t.TempDir(), "shortday.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	return &lister{t: t, desk: requests.NewDesk(reg, slog.New(slog.DiscardHandler))}
}

// ask asks as a member of a co-op, with a file for the field of that name where there is one.
func (s *lister) ask(coop, request, field string, file *bot.File) bot.Reply {
	s.t.Helper()
	path, fields, err := s.desk.Read(request)
	require.NoError(s.t, err)
	if file != nil {
		fields = append(fields, bot.Entry{Field: field, File: file})
	}
	reply := s.desk.Answer(s.t.Context(), bot.Ask{Coop: bot.Party{Key: coop, Name: coop}, Who: bot.Party{Key: "anna", Name: "Anna"}, Request: path, Fields: fields,
		At: time.Date(2027, time.March, 1, 12, 0, 0, 0, time.UTC), Direct: true, Progress: func(done, of int) { s.told = append(s.told, fmt.Sprint(done, "/", of)) }})
	require.Nil(s.t, reply.Refusal, request)
	return reply
}

func csvFile(head string, rows []string) *bot.File {
	return &bot.File{Name: "list.csv", Type: "text/csv", Data: []byte(head + "\n" + strings.Join(rows, "\n"))}
}

// A list that was written changes nothing when it is brought back, and gives the same list in another co-op, but for
// the marks, which are that co-op's own.
func TestWrittenStockReadsBack(t *testing.T) {
	t.Parallel()
	s, n := newLister(t), 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		here, there := fmt.Sprint("here ", n), fmt.Sprint("there ", n)
		var rows []string
		for range rapid.IntRange(1, 12).Draw(t, "rows") {
			rows = append(rows, fmt.Sprintf("%s;%d;%s;2027-0%d-11;%s", rapid.SampledFrom([]string{"Saltmarsh", "Ninepence", "Île d'Or"}).Draw(t, "variety"),
				rapid.IntRange(1, 99).Draw(t, "count"), rapid.SampledFrom([]string{"boxed", "struck", "potted", "housed"}).Draw(t, "stage"),
				rapid.IntRange(1, 2).Draw(t, "month"), rapid.SampledFrom([]string{"", "box 1", "=1+1", "'bench, \"new\"", "@x"}).Draw(t, "spot")))
		}
		s.ask(here, "/stock add", "file", csvFile("variety;count;stage;since;spot", rows))
		require.Len(t, s.ask(here, "/stock add list:"+fmt.Sprint(2*n-1)+" varieties:yes", "", nil).Files, 1)
		out := s.ask(here, "/stock list file:yes", "", nil).Files[0]

		back := s.ask(here, "/stock add", "file", &out)
		require.Contains(t, back.Title, fmt.Sprintf("0 of %s can be entered", map[bool]string{true: "1 line", false: fmt.Sprint(len(rows), " lines")}[len(rows) == 1]))
		require.Empty(t, back.Next)
		require.Equal(t, out.Data, s.ask(here, "/stock list file:yes", "", nil).Files[0].Data)

		s.ask(there, "/stock add", "file", &out)
		s.ask(there, "/stock add list:"+fmt.Sprint(2*n)+" varieties:yes", "", nil)
		require.Equal(t, unmarked(t, out.Data), unmarked(t, s.ask(there, "/stock list file:yes", "", nil).Files[0].Data))
	})
}

// unmarked gives a list without its marks.
func unmarked(t *rapid.T, data []byte) (rows []string) {
	columns := []listing.Column{{Name: "variety"}, {Name: "count"}, {Name: "stage"}, {Name: "since"}, {Name: "spot"}}
	table, err := listing.Read(data, columns)
	require.NoError(t, err)
	for _, row := range table.Rows {
		text := ""
		for _, c := range columns {
			text += table.Cell(row, c.Name) + "|"
		}
		rows = append(rows, text)
	}
	return rows
}

func TestLongListTellsItsProgress(t *testing.T) {
	t.Parallel()
	s := newLister(t)
	var rows []string
	for i := range 2_500 {
		rows = append(rows, fmt.Sprintf("Variety %d,%d,bench %d", i%30, 1+i%9, i))
	}
	rows[7] = "Variety 7,none,"
	shown := s.ask("Hollow Lane", "/stock add", "file", csvFile("variety,count,spot", rows))
	require.Contains(t, shown.Title, "0 of 2500 lines")
	require.Len(t, shown.Files, 1, "the whole of it, line by line")
	require.LessOrEqual(t, len(shown.Rows.Rows), 40)
	require.Equal(t, 2501, strings.Count(string(shown.Files[0].Data), "\r\n"))
	require.Contains(t, shown.Next[0].Label, "Add 30 varieties too, and enter 2499 batches")
	done := s.ask("Hollow Lane", shown.Next[0].Request, "", nil)
	require.Equal(t, "list.csv: 2499 batches entered", done.Title)
	require.Equal(t, []string{"1000/2499", "2000/2499"}, s.told)
	require.Equal(t, "list.csv: taken back", s.ask("Hollow Lane", done.Next[0].Request, "", nil).Title)
}

func BenchmarkListOf10000(b *testing.B) {
	s := newLister(b)
	for i := 0; b.Loop(); i++ {
		var rows []string
		for k := range 10_000 {
			rows = append(rows, fmt.Sprintf("Variety %d,%d,bench %d,potted,2027-02-0%d", k%50, 1+k%9, k, 1+k%9))
		}
		coop := fmt.Sprint("co-op ", i)
		shown := s.ask(coop, "/stock add", "file", csvFile("variety,count,spot,stage,since", rows))
		s.ask(coop, shown.Next[0].Request, "", nil)
	}
}
