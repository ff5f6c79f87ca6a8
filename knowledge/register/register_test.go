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
	"time"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// garden is a register with an invented co-op: Nora is steward, Piet is not, and one late variety is kept.
type garden struct {
	*register.Register
	t          testing.TB
	path       string
	nora, piet register.Member
	late       register.Variety
}

func day(t testing.TB, text string) calendar.Day {
	t.Helper()
	d, err := calendar.ParseDay(text)
	require.NoError(t, err)
	return d
}

func noon(t testing.TB, text string) time.Time {
	t.Helper()
	return day(t, text).UTC().Add(12 * time.Hour)
}

func plant(t testing.TB) *garden {
	t.Helper()
	path := filepath.Join(t.TempDir(), "garden #1 50%?.db")
	r, err := register.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { _ = r.Close() })
	g := &garden{Register: r, t: t, path: path}
	g.nora = g.enter("nora", "Nora")
	g.piet = g.enter("piet", "Piet")
	g.late, err = r.AddVariety(t.Context(), g.by(g.nora, "2026-01-02"), variety.Variety{Name: "Ember Late", Season: variety.Late, Response: 10})
	require.NoError(t, err)
	return g
}

func (g *garden) enter(key, name string) register.Member {
	g.t.Helper()
	seat, err := g.Enter(g.t.Context(), register.Entry{CoopKey: "hill", CoopName: "Hill Growers", Key: key, Name: name, At: noon(g.t, "2026-01-01")})
	require.NoError(g.t, err)
	_, err = g.SetMember(g.t.Context(), register.Actor{Member: seat.Member.ID, At: noon(g.t, "2026-01-01")}, register.Metric, 3,
		place.Place{Point: place.Point{Lat: 52, Lon: 5}, Zone: "Europe/Amsterdam", Exact: true, Cover: true, BottomHeat: true})
	require.NoError(g.t, err)
	seat, err = g.Seat(g.t.Context(), seat.Member.ID)
	require.NoError(g.t, err)
	return seat.Member
}

func (g *garden) by(m register.Member, on string) register.Actor {
	return register.Actor{Member: m.ID, At: noon(g.t, on)}
}

// add enters Nora's plants of the late variety.
func (g *garden) add(stage crop.Stage, count int, since string) register.Batch {
	g.t.Helper()
	out, err := g.Add(g.t.Context(), g.by(g.nora, since), register.Stock{Variety: g.late.ID, Stage: stage, Count: count, Since: day(g.t, since), Spot: "bench 1"})
	require.NoError(g.t, err)
	require.Len(g.t, out.Batches, 1)
	return out.Batches[0]
}

func (g *garden) done(on string, s register.Step) register.Outcome {
	g.t.Helper()
	if s.Plan == 0 && len(s.Batches) == 0 {
		s.Variety = g.late.ID
	}
	out, err := g.Done(g.t.Context(), g.by(g.nora, on), s)
	require.NoError(g.t, err)
	return out
}

// sound fails unless every batch's number is the sum of its deeds that stand.
func (g *garden) sound() {
	g.t.Helper()
	x, err := g.Export(g.t.Context(), g.nora.ID)
	require.NoError(g.t, err)
	undone := map[int64]bool{}
	for _, e := range x.Events {
		undone[e.ID] = !e.UndoneAt.IsZero()
	}
	sum := map[int64]int{}
	for _, c := range x.Counts {
		if !undone[c.Event] {
			sum[c.Batch] += c.Delta
		}
	}
	for _, b := range x.Batches {
		require.Equal(g.t, sum[b.ID], b.Count, "batch %s", b.Mark)
		require.Equal(g.t, b.Count > 0, b.Live(), "batch %s", b.Mark)
	}
}

func refused(t testing.TB, kind fault.Kind, says string, err error) {
	t.Helper()
	require.Error(t, err)
	require.Equal(t, kind, fault.KindOf(err), err.Error())
	require.Contains(t, err.Error(), says)
}

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

func TestBackupRestore(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Boxed, 12, "2026-01-05")
	dir := t.TempDir()
	copied := filepath.Join(dir, "copy.db")
	require.NoError(t, g.Backup(t.Context(), copied))
	whole, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, whole, 1, "a backup is one file")
	written, err := os.ReadFile(copied)
	require.NoError(t, err)
	require.Equal(t, []byte{1, 1}, written[18:20], "it keeps its log in no file beside it: one can be restored from a medium that is read only")
	refused(t, fault.Taken, "never overwrites", g.Backup(t.Context(), copied))
	refused(t, fault.Later, "could not be written", g.Backup(t.Context(), filepath.Join(dir, "no", "copy.db")))

	lost := g.add(crop.Boxed, 1, "2026-01-06")
	_, err = register.Restore(t.Context(), copied, g.path)
	refused(t, fault.Later, "in use", err)
	_, err = g.Batch(t.Context(), lost.ID)
	require.NoError(t, err, "a refused restore leaves the register alone")
	require.NoError(t, g.Close())

	kept, err := register.Restore(t.Context(), copied, g.path)
	require.NoError(t, err)
	require.Equal(t, g.path+".before-restore-1", kept)
	was, err := register.Open(t.Context(), kept)
	require.NoError(t, err)
	_, err = was.Batch(t.Context(), lost.ID)
	require.NoError(t, err, "what was replaced is kept whole")
	require.NoError(t, was.Close())
	r, err := register.Open(t.Context(), g.path)
	require.NoError(t, err)
	defer func() { _ = r.Close() }()
	again, err := r.Batch(t.Context(), b.ID)
	require.NoError(t, err)
	require.Equal(t, b, again)
	_, err = r.Batch(t.Context(), lost.ID)
	refused(t, fault.Missing, "", err)
	left, err := os.ReadDir(filepath.Dir(g.path))
	require.NoError(t, err)
	for _, f := range left {
		require.NotContains(t, f.Name(), ".part")
	}
}

// A register of an older program is brought up to date, and kept beside as it was.
func TestOpenKeepsACopyBeforeAnUpdate(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "old.db")
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, os.DirFS("migrations/sqlite"))
	require.NoError(t, err)
	_, err = provider.UpTo(t.Context(), 1)
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "INSERT INTO coop (key, name) VALUES ('old', 'Old Lane')")
	require.NoError(t, err)
	require.NoError(t, db.Close())

	r, err := register.Open(t.Context(), path)
	require.NoError(t, err)
	require.Equal(t, path+".before-update-1", r.Spare())
	all, err := r.Coops(t.Context())
	require.NoError(t, err)
	require.Equal(t, "Old Lane", all[0].Name)
	require.NoError(t, r.Close())
	again, err := register.Open(t.Context(), path)
	require.NoError(t, err)
	require.Empty(t, again.Spare(), "it is up to date now")
	require.NoError(t, again.Close())
	kept, err := sql.Open("sqlite", r.Spare())
	require.NoError(t, err)
	defer func() { _ = kept.Close() }()
	var version, coops int
	require.NoError(t, kept.QueryRowContext(t.Context(), "PRAGMA user_version").Scan(&version))
	require.NoError(t, kept.QueryRowContext(t.Context(), "SELECT count(*) FROM coop").Scan(&coops))
	require.Equal(t, []int{1, 1}, []int{version, coops})
}

func TestRestoreChecks(t *testing.T) {
	t.Parallel()
	g := plant(t)
	for i := range 60 {
		g.add(crop.Boxed, i+1, "2026-01-05")
	}
	dir := t.TempDir()
	good := filepath.Join(dir, "good.db")
	require.NoError(t, g.Backup(t.Context(), good))
	bytes, err := os.ReadFile(good)
	require.NoError(t, err)
	spoil := func(name string, change func([]byte) []byte) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, change(append([]byte(nil), bytes...)), 0o600))
		return path
	}
	target := filepath.Join(dir, "target.db")
	kept, err := register.Restore(t.Context(), good, target)
	require.NoError(t, err, "onto nothing")
	require.Empty(t, kept)
	before, err := os.ReadFile(target)
	require.NoError(t, err)
	for _, c := range []struct {
		from string
		kind fault.Kind
		says string
	}{
		{filepath.Join(dir, "absent.db"), fault.Missing, "no backup"},
		{spoil("text.db", func([]byte) []byte { return []byte("not a register at all") }), fault.Unclear, "not a Shortday"},
		{spoil("app.db", func(b []byte) []byte { copy(b[68:], "Else"); return b }), fault.Unclear, "not a Shortday"},
		{spoil("newer.db", func(b []byte) []byte { b[62] = 9; return b }), fault.Later, "newer"},
		{spoil("holes.db", func(b []byte) []byte {
			for i := 4096; i < len(b); i += 7 {
				b[i] ^= 0x5a
			}
			return b
		}), fault.Unclear, "damaged"},
		{spoil("half.db", func(b []byte) []byte { return b[:len(b)/2] }), fault.Unclear, "damaged"},
	} {
		_, err := register.Restore(t.Context(), c.from, target)
		refused(t, c.kind, c.says, err)
		after, err := os.ReadFile(target)
		require.NoError(t, err)
		require.Equal(t, before, after, c.from)
	}
}

func (g *garden) at(on string) time.Time { return noon(g.t, on) }
