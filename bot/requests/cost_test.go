package requests_test

import (
	"fmt"
	"log/slog"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot/requests"
	"shortday/knowledge/register"
)

// A list asks as much of the register for many rows as for few.
func TestListsCostNoStatementARow(t *testing.T) {
	t.Parallel()
	reg, err := register.Open(t.Context(), filepath.Join(t.TempDir(), "lane.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	l := lane{requests.NewDesk(reg, slog.New(slog.DiscardHandler)), t}
	l.says("2026-11-20", "/grower place place:53.1,-6.7 zone:Europe/Dublin")
	grow := func(from, to int) {
		for i := from; i < to; i++ {
			l.says("2026-11-20", fmt.Sprintf(`/variety add name:"Trial %d" like:"late spray" sure:yes`, i))
			l.says("2026-11-20", fmt.Sprintf(`/stock add variety:"Trial %d" count:12 since:"10 nov"`, i))
			l.says("2026-11-20", fmt.Sprintf(`/target set variety:"Trial %d" bloom:"5 nov" stems:40`, i))
			l.says("2026-11-20", fmt.Sprintf(`/stock move batch:26-%d count:4 spot:frame`, 2*i+1))
		}
	}
	lists := []string{"/stock list", "/stock list all:yes", "/variety list", "/variety list mine:yes", "/coop show", "/target list", "/job due", "/job due all:yes", "/job due until:\"in 8 weeks\""}
	cost := func() map[string]int64 {
		each := map[string]int64{}
		for _, request := range lists {
			before := reg.Statements()
			l.says("2026-11-20", request)
			each[request] = reg.Statements() - before
		}
		return each
	}
	grow(0, 2)
	few := cost()
	grow(2, 12)
	require.Equal(t, few, cost())
}
