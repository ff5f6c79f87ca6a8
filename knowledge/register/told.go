package register

import (
	"errors"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"shortday/knowledge/fault"
)

// Explain turns what the file system or another program brings about into a sentence: for what is written to the file
// by others than the register.
func Explain(err error) error { return told(err) }

// told turns what the file system or another program brings about into a sentence, and leaves all else as it is.
func told(err error) error {
	failed, ok := errors.AsType[*sqlite.Error](err)
	if !ok {
		return err
	}
	switch failed.Code() & 0xff { // the low byte is the kind, the rest its detail
	case lib.SQLITE_READONLY, lib.SQLITE_PERM:
		return fault.New(fault.Later, "The register can be read but not written, so nothing was recorded. Give its file and folder the right to be written, then ask again.").Because(err)
	case lib.SQLITE_FULL:
		return fault.New(fault.Later, "The disk that holds the register is full, so nothing was recorded. Make room on it, then ask again.").Because(err)
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return fault.New(fault.Later, "Another program holds the register, so nothing was recorded. Ask again in a moment.").Because(err)
	case lib.SQLITE_CANTOPEN:
		return fault.New(fault.Later, "The register cannot be opened. See that its folder exists and may be written, or give another file with --db.").Because(err)
	case lib.SQLITE_NOTADB:
		return fault.New(fault.Unclear, "That file is not a Shortday register. Give another file with --db.").Because(err)
	case lib.SQLITE_CORRUPT:
		return fault.New(fault.Later, "The register's file is damaged. Put back a backup with shortday restore.").Because(err)
	}
	return err
}
