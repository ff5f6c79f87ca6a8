package main

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/user"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/bot/terminal"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// settings are the flags that all commands share.
type settings struct {
	DB   string `name:"db" placeholder:"FILE" help:"The register. Without it $$SHORTDAY_DB, else shortday.db in your data folder."`
	As   string `placeholder:"NAME" help:"Who asks. Without it the name you are logged in with."`
	Coop string `placeholder:"NAME" default:"Our co-op" help:"Which co-op of the register."`
	At   moment `placeholder:"TIME" help:"Play another day: 2027-03-01, 2027-03-01T07:00, or with a zone 2027-03-01T07:00:00Z."`
	Log  string `enum:"text,json" default:"text" help:"How the lines of the log on standard error are written: text or json."`
}

// handler writes the log.
func (s *settings) handler(to io.Writer) slog.Handler {
	if s.Log == "json" {
		return slog.NewJSONHandler(to, nil)
	}
	return slog.NewTextHandler(to, nil)
}

// moment is an instant, or with clock set what the asker's own clock shows.
type moment struct {
	time.Time
	clock bool
}

// UnmarshalText reads a moment; a day alone is its noon.
func (m *moment) UnmarshalText(text []byte) error {
	var err error
	if m.Time, err = time.Parse(time.RFC3339, string(text)); err == nil {
		return nil
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02T15:04:05", time.DateTime, time.DateOnly} {
		if m.Time, err = time.Parse(layout, string(text)); err == nil {
			if m.clock = true; layout == time.DateOnly {
				m.Time = m.Add(12 * time.Hour)
			}
			return nil
		}
	}
	return fmt.Errorf("%q is no time such as 2027-03-01 or 2027-03-01T07:00", text)
}

// asking gives an ask of whoever the flags name, now. A steward by right of the platform there is none in a terminal.
func (p *program) asking() bot.Ask {
	a := bot.Ask{Who: party(p.who()), Coop: party(p.Coop), At: p.At.Time, Clock: p.At.clock, Adapter: "terminal", Open: terminal.Files(""), Direct: true}
	if a.At.IsZero() {
		a.At = p.now()
	}
	return a
}

// party has for key its name without regard to case and accents.
func party(name string) bot.Party {
	name = bot.Clean(name, false)
	return bot.Party{Key: variety.Fold(name), Name: name}
}

func (p *program) who() string {
	if p.As != "" {
		return p.As
	}
	if u, err := user.Current(); err == nil && u.Username != "" {
		return u.Username[strings.LastIndex(u.Username, `\`)+1:] // Windows has the domain before it
	}
	return "grower"
}

// file gives the register's path, and makes the user's data folder when that is where it lies.
func (p *program) file() (string, error) {
	if p.DB != "" {
		return p.DB, nil
	}
	if path := p.getenv("SHORTDAY_DB"); path != "" {
		return path, nil
	}
	dir, err := p.dataFolder()
	if err != nil {
		return "", err
	}
	dir = filepath.Join(dir, "shortday")
	return filepath.Join(dir, "shortday.db"), os.MkdirAll(dir, 0o700)
}

func (p *program) dataFolder() (string, error) {
	if dir := p.getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return dir, nil
	}
	if runtime.GOOS == "windows" || runtime.GOOS == "darwin" {
		return os.UserConfigDir() // there the same folder holds data
	}
	home := p.getenv("HOME")
	if home == "" {
		return "", errors.New("there is no home folder to keep the register in; name one with --db")
	}
	return filepath.Join(home, ".local", "share"), nil
}

// register opens a register, and tells of the copy that was kept where its tables had to be brought up to date.
func (p *program) register(path string) (*register.Register, error) {
	reg, err := register.Open(p, path)
	if err == nil && reg.Spare() != "" {
		_, err = fmt.Fprintf(p.stderr, "The register %s was brought up to date for this Shortday. As it was before, it is kept in %s.\n", path, reg.Spare())
	}
	return reg, err
}

// open opens the register and a desk over it. What is recorded by another clock is played.
func (p *program) open() (*register.Register, *bot.Desk, error) {
	if !p.At.IsZero() {
		p.Context = register.Played(p.Context)
	}
	path, err := p.file()
	if err != nil {
		return nil, nil, err
	}
	reg, err := p.register(path)
	if err != nil {
		return nil, nil, err
	}
	return reg, requests.NewDesk(reg, p.log), nil
}
