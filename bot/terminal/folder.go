package terminal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"shortday/bot"
	"shortday/scheduler"
)

// Folder is a place for notices: each becomes a file of its own. Nothing there is ever overwritten.
type Folder struct{ dir string }

const ending = ".txt"

// NewFolder gives a folder, made when missing.
func NewFolder(dir string) (Folder, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return Folder{}, fmt.Errorf("making the folder for notices: %w", err)
	}
	return Folder{dir}, nil
}

// Platform gives what delivers there. A file once there is found again by its notice's key, which is in its name.
func (f Folder) Platform() scheduler.Platform {
	return scheduler.Platform{Deliver: f.deliver, Find: f.find}
}

// deliver writes the file whole: under its name it is there all or not at all.
func (f Folder) deliver(_ context.Context, n scheduler.Notice) (scheduler.Receipt, error) {
	var text bytes.Buffer
	if err := Posted(&text, n); err != nil {
		return "", err
	}
	part := filepath.Join(f.dir, "."+n.Key+".part")
	if err := writeWhole(part, text.Bytes()); err != nil {
		return "", err
	}
	name, err := f.free(n.Day.String() + "-" + filepath.Base(bot.Clean(n.Kind, false)) + "-" + n.Key)
	if err != nil {
		return "", err
	}
	return scheduler.Receipt(name), os.Rename(part, filepath.Join(f.dir, name))
}

// free gives the first name with a stem that is not taken.
func (f Folder) free(stem string) (string, error) {
	for copies := 1; ; copies++ {
		name := stem + ending
		if copies > 1 {
			name = fmt.Sprintf("%s-%d%s", stem, copies, ending)
		}
		if _, err := os.Lstat(filepath.Join(f.dir, name)); errors.Is(err, fs.ErrNotExist) {
			return name, nil
		} else if err != nil {
			return "", err
		}
	}
}

func writeWhole(path string, data []byte) error {
	out, err := os.Create(path)
	if err != nil {
		return err
	}
	_, err = out.Write(data)
	return errors.Join(err, out.Sync(), out.Close())
}

func (f Folder) find(_ context.Context, n scheduler.Notice) (scheduler.Receipt, bool, error) {
	there, err := os.ReadDir(f.dir)
	if err != nil {
		return "", false, err
	}
	for _, file := range there {
		if strings.HasSuffix(file.Name(), "-"+n.Key+ending) {
			return scheduler.Receipt(file.Name()), true, nil
		}
	}
	return "", false, nil
}
