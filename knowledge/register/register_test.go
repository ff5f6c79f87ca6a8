package register_test

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func TestOpenAgain(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Boxed, 12, "2026-01-05")
	require.NoError(t, g.Close())
	r, err := register.Open(t.Context(), g.path)
	require.NoError(t, err)
	defer func() { require.NoError(t, r.Close()) }()
	again, err := r.Batch(t.Context(), b.ID)
	require.NoError(t, err)
	require.Equal(t, b, again)
	last, err := r.LastInstant(t.Context())
	require.NoError(t, err)
	require.Equal(t, noon(t, "2026-01-05"), last)
}

// A day that is played ahead keeps no notice from going out by the real clock.
func TestPlayedDaysLeaveTheLastInstant(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Boxed, 12, "2026-01-05")
	out, err := g.Add(register.Played(t.Context()), g.by(g.nora, "2099-01-01"), register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 3})
	require.NoError(t, err)
	b, err := g.Batch(t.Context(), out.Batches[0].ID)
	require.NoError(t, err)
	require.Equal(t, 3, b.Count)
	last, err := g.LastInstant(t.Context())
	require.NoError(t, err)
	require.Equal(t, noon(t, "2026-01-05"), last)
}

func TestOpenRefuses(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	newer := filepath.Join(dir, "newer.db")
	r, err := register.Open(t.Context(), newer)
	require.NoError(t, err)
	_, err = r.DB().ExecContext(t.Context(), `PRAGMA user_version = 999`)
	require.NoError(t, err)
	require.NoError(t, r.Close())
	foreign := filepath.Join(dir, "foreign.db")
	db, err := sql.Open("sqlite", foreign)
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), `CREATE TABLE recipe (name TEXT)`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	letter := filepath.Join(dir, "letter.txt")
	require.NoError(t, os.WriteFile(letter, []byte(strings.Repeat("Dear growers, ", 9)), 0o600))
	short := filepath.Join(dir, "short.txt")
	require.NoError(t, os.WriteFile(short, []byte("hi"), 0o600))
	for _, c := range []struct {
		path string
		kind fault.Kind
		says string
	}{
		{newer, fault.Later, "newer Shortday"},
		{foreign, fault.Unclear, "not a Shortday register"},
		{letter, fault.Unclear, "not a Shortday register"},
		{short, fault.Unclear, "not a Shortday register"},
		{filepath.Join(dir, "none", "x.db"), fault.Later, "folder exists"},
		{dir, fault.Later, "cannot be read"},
	} {
		_, err := register.Open(t.Context(), c.path)
		refused(t, c.kind, c.says, err)
	}
	text, err := os.ReadFile(letter)
	require.NoError(t, err)
	require.Contains(t, string(text), "Dear growers")
}

func TestOpenAtOnce(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "new.db")
	var wait sync.WaitGroup
	errs := make([]error, 4)
	for i := range errs {
		wait.Go(func() {
			r, err := register.Open(context.Background(), path)
			if err == nil {
				err = r.Close()
			}
			errs[i] = err
		})
	}
	wait.Wait()
	for _, err := range errs {
		require.NoError(t, err)
	}
}

func TestSchemaNumber(t *testing.T) {
	t.Parallel()
	g := plant(t)
	var version, applied int
	require.NoError(t, g.DB().QueryRowContext(t.Context(), `PRAGMA user_version`).Scan(&version))
	require.NoError(t, g.DB().QueryRowContext(t.Context(), `SELECT max(version_id) FROM goose_db_version`).Scan(&applied))
	files, err := filepath.Glob("migrations/sqlite/*.sql")
	require.NoError(t, err)
	require.Equal(t, len(files), version)
	require.Equal(t, applied, version)
}

func TestDiskFaults(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, pragma, says string }{
		{"read only", `PRAGMA query_only = 1`, "not written"},
		{"full", `PRAGMA max_page_count = 1`, "disk"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			g := plant(t)
			before := g.add(crop.Boxed, 5, "2026-01-05")
			_, err := g.DB().ExecContext(t.Context(), c.pragma)
			require.NoError(t, err)
			for range 400 {
				_, err = g.Add(t.Context(), g.by(g.nora, "2026-02-01"), register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 1, Note: strings.Repeat("x", 500)})
				if err != nil {
					break
				}
			}
			refused(t, fault.Later, c.says, err)
			still, err := g.Batch(t.Context(), before.ID)
			require.NoError(t, err)
			require.Equal(t, before, still)
		})
	}
}

func TestHeldByAnother(t *testing.T) {
	t.Parallel()
	g := plant(t)
	other, err := sql.Open("sqlite", "file:"+strings.NewReplacer("%", "%25", "?", "%3f", "#", "%23").Replace(g.path)+"?_txlock=exclusive")
	require.NoError(t, err)
	defer func() { _ = other.Close() }()
	tx, err := other.BeginTx(t.Context(), nil)
	require.NoError(t, err)
	_, err = g.DB().ExecContext(t.Context(), `PRAGMA busy_timeout = 20`)
	require.NoError(t, err)
	add := func() error {
		_, err := g.Add(t.Context(), g.by(g.nora, "2026-02-01"), register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 1})
		return err
	}
	refused(t, fault.Later, "Another program", add())
	require.NoError(t, tx.Rollback())
	require.NoError(t, add())
}

func TestWritersAtOnce(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Boxed, 100, "2026-01-05")
	second, err := register.Open(t.Context(), g.path)
	require.NoError(t, err)
	defer func() { _ = second.Close() }()
	var wait sync.WaitGroup
	errs := make(chan error, 40)
	for i := range 40 {
		r := g.Register
		if i%2 == 1 {
			r = second
		}
		wait.Go(func() {
			_, err := r.Move(context.Background(), g.by(g.nora, "2026-02-01"), register.Shift{Batch: b.ID, Count: 1, Spot: fmt.Sprint("box ", i)})
			errs <- err
		})
	}
	wait.Wait()
	close(errs)
	for err := range errs {
		require.NoError(t, err)
	}
	all, err := g.Batches(t.Context(), g.nora.ID, g.late.ID)
	require.NoError(t, err)
	require.Len(t, all, 41)
	require.Equal(t, 60, all[0].Count)
	g.sound()
}
