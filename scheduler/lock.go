package scheduler

import (
	"path/filepath"

	"github.com/gofrs/flock"

	"shortday/knowledge/fault"
)

// takeLock lets one process at a time strike a register. The system frees the lock at the process's death.
func takeLock(register string) (*flock.Flock, error) {
	path, err := filepath.EvalSymlinks(register)
	if err != nil {
		return nil, err
	}
	lock := flock.New(path + ".lock")
	taken, err := lock.TryLock()
	if err != nil {
		return nil, fault.New(fault.Later, "The file %s.lock cannot be written, so no notices go out. Give its folder the right to be written.", register).Because(err)
	}
	if !taken {
		return nil, fault.New(fault.Taken, "Another Shortday sends the notices of %s already. Stop that one first, or leave it to it.", register)
	}
	return lock, nil
}
