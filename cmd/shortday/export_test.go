package main

import (
	"bytes"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Lists that one register wrote bring the same into another; who is no member has none to write.
func TestExportAndImport(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	first, second, lists := filepath.Join(dir, "first.db"), filepath.Join(dir, "second.db"), filepath.Join(dir, "lists")
	say := func(status int, args ...string) string {
		t.Helper()
		var out bytes.Buffer
		got := run(t.Context(), args, func(string) string { return "" }, bytes.NewReader(nil), &out, &out)
		require.Equal(t, status, got, out.String())
		return out.String()
	}
	ask := func(db, request string) string {
		t.Helper()
		return say(0, "ask", "--db", db, "--as", "Ann", "--at", "2027-01-10", request)
	}
	ask(first, `/variety add name:"Slow Tide" season:late response:9`)
	ask(first, `/stock add variety:"Slow Tide" count:12 stage:boxed since:2026-11-20 spot:"=north bench"`)
	kept := ask(first, "/stock list")
	require.Contains(t, say(1, "export", "--db", first, "--as", "Bob", lists), "Bob is no member of Our co-op, so there is nothing to write.")
	require.Contains(t, say(0, "export", "--db", first, "--as", "Ann", lists), "stock.csv")
	for _, name := range []string{"varieties.csv", "stock.csv"} {
		say(0, "import", "--db", second, "--as", "Ann", "--at", "2027-01-10", "--yes", filepath.Join(lists, name))
	}
	require.Equal(t, kept, ask(second, "/stock list"))
}
