package terminal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"shortday/bot"
)

// Keep writes files into a folder, made when missing, and gives their paths in order. It never overwrites: a taken name
// gets a number. An empty folder name keeps nothing.
func Keep(dir string, files []bot.File) ([]string, error) {
	if dir == "" || len(files) == 0 {
		return nil, nil
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("making the folder for files: %w", err)
	}
	var paths []string
	for _, f := range files {
		path, err := keep(dir, f)
		if err != nil {
			return nil, fmt.Errorf("keeping %s: %w", f.Name, err)
		}
		paths = append(paths, path)
	}
	return paths, nil
}

func keep(dir string, f bot.File) (string, error) {
	name := filepath.Base(bot.Clean(f.Name, false))
	ext := filepath.Ext(name)
	path := filepath.Join(dir, name)
	for n := 2; ; n++ {
		out, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, fs.ErrExist) {
			path = filepath.Join(dir, fmt.Sprintf("%s-%d%s", strings.TrimSuffix(name, ext), n, ext))
			continue
		}
		if err != nil {
			return "", err
		}
		_, err = out.Write(f.Data)
		return path, errors.Join(err, out.Close())
	}
}
