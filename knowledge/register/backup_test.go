package register_test

import (
	"database/sql"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"testing"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

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
	_, err = register.Restore(t.Context(), good, t.TempDir())
	refused(t, fault.Unclear, "no file that a backup could take the place of", err)
	for _, c := range []struct {
		from string
		kind fault.Kind
		says string
	}{
		{filepath.Join(dir, "absent.db"), fault.Missing, "no backup"},
		{spoil("text.db", func([]byte) []byte { return []byte("not a register at all") }), fault.Unclear, "not a Shortday register, and nothing was changed. Name a file that shortday backup wrote."},
		{spoil("app.db", func(b []byte) []byte { copy(b[68:], "Else"); return b }), fault.Unclear, "not a Shortday register, and nothing was changed. Name a file that shortday backup wrote."},
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

// TestCopiesKeepRights: neither a copy nor a restore opens a register to more, or to fewer, than it was open to before.
func TestCopiesKeepRights(t *testing.T) {
	t.Parallel()
	if runtime.GOOS == "windows" {
		t.Skip("files have no such rights there")
	}
	g := plant(t)
	dir := t.TempDir()
	rights := func(path string) fs.FileMode {
		about, err := os.Lstat(path)
		require.NoError(t, err)
		return about.Mode()
	}
	copied := filepath.Join(dir, "copy.db")
	require.NoError(t, os.Chmod(g.path, 0o640))
	require.NoError(t, g.Backup(t.Context(), copied))
	require.Equal(t, fs.FileMode(0o640), rights(copied))
	require.NoError(t, g.Close())

	require.NoError(t, os.Chmod(copied, 0o644))
	link := filepath.Join(dir, "link.db")
	require.NoError(t, os.Symlink(g.path, link))
	kept, err := register.Restore(t.Context(), copied, link)
	require.NoError(t, err)
	require.Equal(t, fs.FileMode(0o640), rights(g.path))
	require.Equal(t, fs.FileMode(0o640), rights(kept))
	require.Equal(t, fs.ModeSymlink, rights(link).Type(), "what a link leads to is put back there")

	fresh := filepath.Join(dir, "fresh.db")
	_, err = register.Restore(t.Context(), copied, fresh)
	require.NoError(t, err)
	require.Equal(t, fs.FileMode(0o600), rights(fresh))
}

// TestRestoreKeepsTheOwner: whoever runs a restore for the user that has the register does not lock that user out.
func TestRestoreKeepsTheOwner(t *testing.T) {
	t.Parallel()
	if os.Getuid() != 0 {
		t.Skip("only root can give files away")
	}
	g := plant(t)
	copied := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, g.Backup(t.Context(), copied))
	require.NoError(t, g.Close())
	require.NoError(t, os.Chown(g.path, 4321, 4322))
	theirs, err := os.Stat(g.path)
	require.NoError(t, err)
	_, err = register.Restore(t.Context(), copied, g.path)
	require.NoError(t, err)
	now, err := os.Stat(g.path)
	require.NoError(t, err)
	for _, field := range []string{"Uid", "Gid"} {
		of := func(about fs.FileInfo) uint64 { return reflect.ValueOf(about.Sys()).Elem().FieldByName(field).Uint() }
		require.Equal(t, of(theirs), of(now), field)
	}
}
