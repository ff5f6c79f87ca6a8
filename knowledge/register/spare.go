package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"shortday/knowledge/fault"
)

// mostSpares is how many copies of one kind are kept beside a register before somebody has to clear them away.
const mostSpares = 999

// spareName gives a free name beside the register for a copy of it as it is: "shortday.db.before-restore-1".
func spareName(path, before string) (string, error) {
	for n := 1; n <= mostSpares; n++ {
		name := fmt.Sprintf("%s.before-%s-%d", path, before, n)
		if _, err := os.Lstat(name); errors.Is(err, fs.ErrNotExist) {
			return name, nil
		}
	}
	return "", fault.New(fault.Taken, "Beside %s lie %d copies from before an earlier %s. Move some of them away, then try again.", path, mostSpares, before)
}

// keepSpare copies an open register beside itself before its tables change.
func keepSpare(ctx context.Context, db *sql.DB, path string) (string, error) {
	name, err := spareName(path, "update")
	if err != nil {
		return "", err
	}
	if err := copyFile(ctx, db, name, path); err != nil {
		return "", errors.Join(fault.New(fault.Later, "The register was not brought up to date, for no copy of it could be kept first. See that its folder has room and may be written.").Because(err), remove(name))
	}
	return name, nil
}

// keepReplaced keeps the file that is about to be replaced, "" where there is none.
func keepReplaced(path string) (string, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	name, err := spareName(path, "restore")
	if err != nil {
		return "", err
	}
	if os.Link(path, name) == nil {
		return name, nil
	}
	if err := copyPlain(path, name); err != nil { // not every disk has links
		return "", errors.Join(fault.New(fault.Later, "Nothing was restored, for no copy of the register could be kept first. See that its folder has room and may be written.").Because(err), remove(name))
	}
	return name, nil
}

func copyPlain(from, to string) (err error) {
	source, err := os.Open(from)
	if err != nil {
		return err
	}
	defer func() { _ = source.Close() }()
	if err := likeness(to, from); err != nil {
		return err
	}
	target, err := os.OpenFile(to, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = io.Copy(target, source)
	return errors.Join(err, target.Sync(), target.Close())
}
