package terminal

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"mime"
	"os"
	"path/filepath"
	"strings"

	"shortday/bot"
	"shortday/knowledge/fault"
)

// Files gives a bot.Ask's Open for someone who sits at this machine: a path is one of their own files. A relative path
// begins at the folder, which is the current one where it is empty, and ~ is the home folder.
func Files(folder string) func(path string) (bot.File, error) {
	return func(typed string) (bot.File, error) {
		path := typed
		if home, err := os.UserHomeDir(); err == nil && strings.HasPrefix(path, "~/") {
			path = filepath.Join(home, path[2:])
		}
		if !filepath.IsAbs(path) {
			path = filepath.Join(folder, path)
		}
		return read(path, typed)
	}
}

// read reads a file that is one: what has no end, such as a device, is refused unread. It is named as it was typed.
func read(path, typed string) (bot.File, error) {
	about, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return bot.File{}, fault.New(fault.Missing, "There is no file %s. Look at the name and the folder, and send it again.", typed)
	case err != nil:
		return bot.File{}, unreadable(typed, err)
	case !about.Mode().IsRegular():
		return bot.File{}, fault.New(fault.Unclear, "%s is no file that can be read, such as a folder. Name a file in it.", typed)
	}
	f, err := os.Open(path)
	if err != nil {
		return bot.File{}, unreadable(typed, err)
	}
	data, err := io.ReadAll(io.LimitReader(f, bot.Largest+1))
	if err := errors.Join(err, f.Close()); err != nil {
		return bot.File{}, unreadable(typed, err)
	}
	if len(data) > bot.Largest {
		return bot.File{}, bot.TooLarge(filepath.Base(path))
	}
	return bot.File{Name: filepath.Base(path), Type: mime.TypeByExtension(filepath.Ext(path)), Data: data}, nil
}

func unreadable(typed string, err error) error {
	return fault.New(fault.Barred, "The file %s cannot be read. See that you may read it, and send it again.", typed).Because(fmt.Errorf("reading a file: %w", err))
}
