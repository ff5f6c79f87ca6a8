package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"shortday/knowledge/fault"
)

// Backup copies the register, as it is at this moment, into a new file; others may go on writing meanwhile.
// A file that exists is refused.
func (r *Register) Backup(ctx context.Context, path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fault.New(fault.Taken, "%s exists already, and a backup never overwrites. Name a new file.", path)
	}
	part := path + ".part"
	if err := copyFile(ctx, r.reader, part, r.path); err != nil {
		return errors.Join(fault.New(fault.Later, "The backup could not be written to %s. See that its folder exists and has room.", path).Because(err), remove(part))
	}
	return os.Rename(part, path)
}

// copyFile makes the copy by SQLite's own online backup, with the rights of the file it is like.
// The copy is one whole file, which can be read where nothing can be written beside it.
func copyFile(ctx context.Context, from *sql.DB, to, like string) error {
	if err := errors.Join(remove(to), likeness(to, like)); err != nil { // what a broken attempt left goes
		return err
	}
	if err := copyPages(ctx, from, to); err != nil {
		return err
	}
	copied := pool(to, url.Values{"_pragma": {"journal_mode(delete)"}}, 1)
	return errors.Join(copied.PingContext(ctx), copied.Close())
}

func copyPages(ctx context.Context, from *sql.DB, to string) error {
	conn, err := from.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }()
	return conn.Raw(func(driver any) error {
		source, ok := driver.(interface {
			NewBackup(uri string) (*sqlite.Backup, error)
		})
		if !ok {
			return fmt.Errorf("the driver %T makes no backup", driver)
		}
		copying, err := source.NewBackup(fileURI(to))
		if err != nil {
			return err
		}
		_, err = copying.Step(-1) // all pages at once: one state, however much is written meanwhile
		return errors.Join(err, copying.Finish())
	})
}

// Restore puts a backup in the place of a register that nothing has open. The backup is copied and checked first; the
// register that was there stays whole until the checked copy takes its place in one step, and is kept beside it in the
// file given; "" where there was none. It keeps its owner and its rights, and its place where a link leads to it.
func Restore(ctx context.Context, from, to string) (kept string, err error) {
	if real, err := filepath.EvalSymlinks(to); err == nil {
		to = real
	}
	if _, err := os.Stat(from); err != nil {
		return "", fault.New(fault.Missing, "There is no backup %s. Name the file that shortday backup wrote.", from).Because(err)
	}
	if err := checkFile(from); err != nil {
		return "", noBackup(from, err)
	}
	if there, err := os.Stat(to); err == nil && !there.Mode().IsRegular() {
		return "", fault.New(fault.Unclear, "%s is no file that a backup could take the place of. Name the register with --db.", to)
	}
	part := to + ".part"
	if err := checkedCopy(ctx, from, part, to); err != nil {
		return "", errors.Join(err, remove(part))
	}
	if err := release(ctx, to); err != nil {
		return "", errors.Join(err, remove(part))
	}
	if kept, err = keepReplaced(to); err != nil {
		return "", errors.Join(err, remove(part))
	}
	return kept, os.Rename(part, to)
}

func checkedCopy(ctx context.Context, from, part, to string) error {
	source := pool(from, url.Values{"mode": {"ro"}}, 1)
	defer func() { _ = source.Close() }()
	if err := copyFile(ctx, source, part, to); err != nil {
		return damaged(from, err)
	}
	copied := pool(part, url.Values{"_pragma": {"journal_mode(delete)"}}, 1)
	defer func() { _ = copied.Close() }()
	version, err := versionOf(ctx, copied, from)
	if _, broken := errors.AsType[*sqlite.Error](err); broken {
		return damaged(from, err)
	}
	if err == nil && version == 0 {
		err = notShortday(from)
	}
	if err != nil {
		return noBackup(from, err)
	}
	var verdict string
	if err := copied.QueryRowContext(ctx, `PRAGMA integrity_check(1)`).Scan(&verdict); err != nil || verdict != "ok" {
		return damaged(from, errors.Join(err, errors.New(verdict)))
	}
	if version < tellsFrom {
		return nil
	}
	_, err = copied.ExecContext(ctx, markRestored)
	return err
}

const (
	tellsFrom    = 6 // the migration from which on a register may have told something
	markRestored = `UPDATE clock SET restored = CASE WHEN last > 0 THEN last ELSE 1 END, looked = 0`
)

// noBackup says of a file that is no register what else to restore.
func noBackup(from string, err error) error {
	if fault.KindOf(err) != fault.Unclear {
		return err
	}
	return fault.New(fault.Unclear, "%s is not a Shortday register, and nothing was changed. Name a file that shortday backup wrote.", from).Because(err)
}

func damaged(from string, err error) error {
	return fault.New(fault.Unclear, "The backup %s is damaged, so the register was left as it is. Use another backup.", from).Because(err)
}

// release folds a register's log into its file, which works only while nothing else has it open; without the log,
// the file can be replaced in one step. A file that is missing or no database needs none of this.
func release(ctx context.Context, path string) error {
	if _, err := os.Stat(path); err == nil && checkFile(path) == nil {
		db := pool(path, url.Values{"_pragma": {"busy_timeout(200)"}}, 1)
		_, err := db.ExecContext(ctx, `PRAGMA journal_mode = delete`)
		err = errors.Join(err, db.Close())
		if failed, ok := errors.AsType[*sqlite.Error](err); ok && failed.Code()&0xff == lib.SQLITE_BUSY {
			return fault.New(fault.Later, "The register %s is in use. Stop the Shortday that has it open, then restore.", path).Because(err)
		}
	}
	return removeLog(path)
}

// remove removes a database file with the log beside it.
func remove(path string) error {
	err := os.Remove(path)
	if errors.Is(err, os.ErrNotExist) {
		err = nil
	}
	return errors.Join(err, removeLog(path))
}

func removeLog(path string) error {
	var errs []error
	for _, end := range []string{"-wal", "-shm", "-journal"} {
		if err := os.Remove(path + end); err != nil && !errors.Is(err, os.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}
