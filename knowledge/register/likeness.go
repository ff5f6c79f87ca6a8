package register

import (
	"errors"
	"io/fs"
	"os"
)

// likeness makes an empty file for a copy of a register, as open to others as the register itself and no more; for its
// user alone where there is none to go by. A file that exists, or a link, is not written through.
func likeness(path, of string) error {
	mode := fs.FileMode(0o600)
	there, err := os.Stat(of)
	if err == nil {
		mode = there.Mode().Perm()
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	file, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	if there != nil {
		err = own(file, there)
	}
	return errors.Join(err, file.Chmod(mode), file.Close())
}
