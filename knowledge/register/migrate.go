package register

import (
	"bytes"
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/pressly/goose/v3"

	"shortday/knowledge/fault"
)

//go:embed migrations
var migrations embed.FS

const (
	applicationID = 0x53646179 // "Sday", in the header of every register
	newest        = 20         // the number of the last migration
	magic         = "SQLite format 3\x00"
)

// Newest gives up to which migration this program reads a register.
func Newest() int { return newest }

// checkFile refuses what is plainly no register before anything is opened or written.
func checkFile(path string) error {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fault.New(fault.Later, "The register %s cannot be opened. Give another file with --db, or the right to read and write this one.", path).Because(err)
	}
	defer func() { _ = f.Close() }()
	head := make([]byte, len(magic))
	n, err := io.ReadFull(f, head)
	switch {
	case n == 0 && errors.Is(err, io.EOF):
		return nil
	case errors.Is(err, io.ErrUnexpectedEOF), err == nil && !bytes.Equal(head, []byte(magic)):
		return notShortday(path)
	case err != nil:
		return fault.New(fault.Later, "The register %s cannot be read. Give another file with --db.", path).Because(err)
	}
	return nil
}

func notShortday(path string) *fault.Error {
	return fault.New(fault.Unclear, "%s is not a Shortday register, and nothing in it was changed. Give another file with --db.", path)
}

// The tables of goose alone are what a start that was cut short leaves.
const fileState = `
SELECT (SELECT application_id FROM pragma_application_id), (SELECT user_version FROM pragma_user_version),
       (SELECT count(*) FROM sqlite_master WHERE name NOT LIKE 'goose%' AND name NOT LIKE 'sqlite%')`

// versionOf tells which migration a file is at, 0 where it is empty, and refuses what this program cannot read.
func versionOf(ctx context.Context, db *sql.DB, path string) (version int, err error) {
	var app, tables int
	if err := db.QueryRowContext(ctx, fileState).Scan(&app, &version, &tables); err != nil {
		return 0, told(fmt.Errorf("opening %s: %w", path, err))
	}
	switch {
	case app == 0 && tables == 0:
		return 0, nil
	case app != applicationID:
		return 0, notShortday(path)
	case version > newest:
		return 0, fault.New(fault.Later, "The register %s was written by a newer Shortday (its tables are at %d, this program knows %d). Use that program, or give another file with --db.", path, version, newest)
	}
	return version, nil
}

// migrate brings the tables up to date. Of a register that is not new it keeps a copy first, whose name it gives.
func migrate(ctx context.Context, db *sql.DB, path string) (spare string, err error) {
	version, err := versionOf(ctx, db, path)
	if err != nil || version == newest {
		return "", err
	}
	if version > 0 {
		if spare, err = keepSpare(ctx, db, path); err != nil {
			return "", err
		}
	}
	return spare, bringUp(ctx, db, path)
}

func bringUp(ctx context.Context, db *sql.DB, path string) error {
	files, err := fs.Sub(migrations, "migrations/sqlite")
	if err != nil {
		return err
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, files)
	if err != nil {
		return told(fmt.Errorf("reading migrations: %w", err))
	}
	// Programs that open a new file at once trip over each other; whoever comes second finds it done.
	for range 3 {
		if _, err = provider.Up(ctx); err == nil {
			return nil
		}
		if now, again := versionOf(ctx, db, path); again == nil && now == newest {
			return nil
		}
	}
	return told(fmt.Errorf("bringing %s up to date: %w", path, err))
}
