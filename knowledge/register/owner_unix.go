//go:build unix

package register

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// own gives a file the owner and group of another, as far as we may: whoever runs a restore for the user that has the
// register is not to lock that user out.
func own(file *os.File, like fs.FileInfo) error {
	theirs, ok := like.Sys().(*syscall.Stat_t)
	if !ok {
		return nil
	}
	err := file.Chown(int(theirs.Uid), int(theirs.Gid))
	if errors.Is(err, fs.ErrPermission) {
		err = file.Chown(-1, int(theirs.Gid))
	}
	if errors.Is(err, fs.ErrPermission) {
		return nil
	}
	return err
}
