package requests_test

import (
	"context"
	"encoding/csv"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/knowledge/calendar"
	"shortday/knowledge/register"
)

// bench is a desk over an empty register, at which one grower asks.
type bench struct {
	testing.TB
	desk *bot.Desk
	at   time.Time
}

func openBench(t testing.TB) bench {
	t.Helper()
	reg, err := register.Open(context.Background(), filepath.Join(t.TempDir(), "shortday.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	desk := requests.NewDesk(reg, slog.New(slog.DiscardHandler))
	return bench{t, desk, time.Date(2027, time.March, 1, 8, 0, 0, 0, time.UTC)}
}

// ask gives the reply to a request that is answered, whose every offered request can be read again.
func (b bench) ask(format string, args ...any) bot.Reply {
	b.Helper()
	typed := fmt.Sprintf(format, args...)
	reply := b.desk.AnswerLine(context.Background(), bot.Ask{Coop: bot.Party{Key: "tallow", Name: "Tallow Lane"}, Who: bot.Party{Key: "oona", Name: "Oona"}, At: b.at, Clock: true}, typed)
	require.Nil(b, reply.Refusal, typed)
	for _, next := range reply.Next {
		_, _, err := b.desk.Read(next.Request)
		require.NoError(b, err, next.Request)
	}
	return reply
}

// cell gives what JSON has of a cell, by row and column.
func (b bench) cell(reply bot.Reply, row int, key string) string {
	b.Helper()
	require.Greater(b, len(reply.Rows.Rows), row, reply.Text)
	for i, column := range reply.Rows.Columns {
		if column.Key == key {
			text, err := reply.Rows.Rows[row][i].MarshalJSON()
			require.NoError(b, err)
			return strings.Trim(string(text), `"`)
		}
	}
	b.Fatalf("no column %s", key)
	return ""
}

// The reply gives the published lengths, to the half of a hundredth of an hour to which it writes them and the 10 s of
// the reckoning; blank times are a day without an edge.
func TestDaylengthAsPublished(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	for _, row := range published(t, "daylength.csv") {
		for _, def := range []struct{ name, minutes, from string }{{"sunrise", "daylength_min", "sunrise_utc"}, {"civil", "civil_daylength_min", "civil_dawn_utc"}} {
			reply := b.ask("/when daylength place:%s,%s on:%s definition:%s", row["lat"], row["lon"], row["date"], def.name)
			got, err := strconv.ParseFloat(b.cell(reply, 0, "hours"), 64)
			require.NoError(t, err)
			want, err := strconv.ParseFloat(row[def.minutes], 64)
			require.NoError(t, err)
			require.InDelta(t, want/60, got, 0.005+10.0/3600, row)
			if row[def.from] == "" {
				require.Equal(t, "null", b.cell(reply, 0, "from"))
			}
		}
	}
}

// The two words for a length ask the same.
func TestBelowAndAboveAreOne(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	rapid.Check(t, func(t *rapid.T) {
		lat, hours := rapid.Float64Range(-65, 65).Draw(t, "lat"), rapid.Float64Range(6, 19).Draw(t, "hours")
		below := b.ask("/when daylength place:%.4f,0 below:%.2f", lat, hours)
		require.Equal(t, below.Rows, b.ask("/when daylength place:%.4f,0 above:%.2f", lat, hours).Rows)
		require.NotEmpty(t, below.Text)
	})
}

// A controlled bloom comes the response weeks after the start of short days, wherever that is, by no register at all.
func TestBloomBySummedWeeks(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	reply := b.ask("/when bloom shortdays:2026-10-11 response:10 place:39.7,-105")
	require.Equal(t, "bloom", b.cell(reply, 0, "step"))
	require.Equal(t, "2026-12-20", b.cell(reply, 0, "likely"))
	require.Equal(t, "response group", b.cell(reply, 0, "basis"))
}

// A plan's stop leads back to the bloom that it was planned for.
func TestStopLeadsBackToItsBloom(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	rapid.Check(t, func(t *rapid.T) {
		class := rapid.SampledFrom([]string{"late spray", "mid reflexed", "late incurved"}).Draw(t, "class")
		lat := rapid.SampledFrom([]string{"53.1,-6.7", "40.2,-76.3", "-43.6,172.4"}).Draw(t, "place")
		natural := b.ask("/when bloom class:%q place:%s", class, lat)
		bloom, err := calendar.ParseDay(b.cell(natural, 0, "likely"))
		require.NoError(t, err)
		wanted := bloom.Add(rapid.IntRange(0, 5).Draw(t, "days"))
		stop := b.ask("/when stop bloom:%s class:%q place:%s cover:yes", wanted, class, lat)
		require.Equal(t, "stop", b.cell(stop, 0, "step"))
		again := b.ask("/when bloom stopped:%s class:%q place:%s", b.cell(stop, 0, "likely"), class, lat)
		got, err := calendar.ParseDay(b.cell(again, 0, "likely"))
		require.NoError(t, err)
		require.InDelta(t, int(wanted), int(got), 1)
	})
}

// Waking for a cutting and cutting after that waking are each other's reverse.
func TestWakeAndCutAreReverse(t *testing.T) {
	t.Parallel()
	b := openBench(t)
	for _, heat := range []string{"yes", "no"} {
		wake := b.ask("/when wake cut:2028-03-01 bottom-heat:%s", heat)
		require.Equal(t, "wake", b.cell(wake, 0, "step"))
		cut := b.ask("/when cut woken:%s bottom-heat:%s", b.cell(wake, 0, "likely"), heat)
		require.Equal(t, "cut", b.cell(cut, 0, "step"))
		require.Equal(t, "2028-03-01", b.cell(cut, 0, "likely"))
	}
}

// published gives the rows of a file of published checks by their heads.
func published(t *testing.T, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", file))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	require.NoError(t, err)
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, head := range lines[0] {
			row[head] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}
