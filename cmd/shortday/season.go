package main

import (
	"bufio"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"shortday/bot"
	"shortday/bot/terminal"
	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

// season plays one year of an invented co-op.
type season struct {
	Save string `placeholder:"DIR" help:"Keep the season's register, pictures, calendar and papers in this new or empty folder; go on with talk --db DIR/shortday.db."`
}

// seasonScript is the year, a line each: "at" sets the day and hour on the asker's clock, "==" heads a chapter, and
// "> Oona: /stock add …" is what a member asks.
//
//go:embed season.txt
var seasonScript string

const seasonCoop = "Tallow Lane Growers"

// Run plays the season on a register of its own, and ends with what was aimed at beside what bloomed.
func (s *season) Run(p *program) (err error) {
	dir, done, err := s.folder()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, done()) }()
	p.DB, p.Coop = filepath.Join(dir, "shortday.db"), seasonCoop
	reg, desk, err := p.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	out := bufio.NewWriter(p.stdout)
	play := &playing{p: p, desk: desk, out: out, files: s.Save, sheet: terminal.Sheet{Width: terminal.Width(p.stdout), Colour: terminal.Colours(p.stdout, p.getenv)}}
	play.notices = scheduler.NewPlay(scheduler.Config{Register: reg, Adapter: register.Terminal, Platform: scheduler.Platform{Deliver: play.tell}, Compose: scheduler.Compose})
	if err := play.script(seasonScript); err != nil {
		return err
	}
	ending, err := seasonEnding(p, reg)
	if err != nil {
		return err
	}
	if s.Save != "" {
		ending.Text += "\n\nThe season is kept in " + p.DB + ". Go on with it: shortday talk --db " + p.DB + " --coop \"" + seasonCoop + "\" --as Oona --at 2027-12-20"
	}
	if _, err := fmt.Fprintln(out); err != nil {
		return err
	}
	if err := play.sheet.Write(out, ending, nil); err != nil {
		return err
	}
	return out.Flush()
}

// folder gives where the season's files go, and what to do with them in the end.
func (s *season) folder() (dir string, done func() error, err error) {
	if s.Save == "" {
		dir, err = os.MkdirTemp("", "shortday-season-")
		return dir, func() error { return os.RemoveAll(dir) }, err
	}
	if err := os.MkdirAll(s.Save, 0o755); err != nil {
		return "", nil, fault.New(fault.Barred, "The folder %s cannot be made. Name one that you may write.", s.Save).Because(err)
	}
	inside, err := os.ReadDir(s.Save)
	if err != nil {
		return "", nil, err
	}
	if len(inside) > 0 {
		return "", nil, fault.New(fault.Taken, "The folder %s is not empty. Name a new or an empty one, so that nothing is overwritten.", s.Save)
	}
	return s.Save, func() error { return nil }, nil
}

// playing is a season being played.
type playing struct {
	p       *program
	desk    *bot.Desk
	out     *bufio.Writer
	sheet   terminal.Sheet
	files   string // the folder that keeps what comes with replies; "" for none
	at      time.Time
	shown   calendar.Day // the day whose heading was printed last
	notices *scheduler.Play
}

var asked = regexp.MustCompile(`^> ([^:]+): (/.+)$`)

func (s *playing) script(text string) error {
	for n, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		var err error
		if when, ok := strings.CutPrefix(line, "at "); ok {
			err = s.set(when)
		} else if title, ok := strings.CutPrefix(line, "== "); ok {
			_, err = fmt.Fprintf(s.out, "\n%s\n%s\n", s.sheet.Bold(title), strings.Repeat("=", len([]rune(title))))
		} else if m := asked.FindStringSubmatch(line); m != nil {
			err = s.ask(m[1], m[2])
		} else if line != "" && line[0] != '#' {
			err = fmt.Errorf("%q is no line of a season", line)
		}
		if err != nil {
			return fmt.Errorf("season.txt, line %d: %w", n+1, err)
		}
	}
	return nil
}

func (s *playing) set(when string) error {
	at, err := time.Parse("2006-01-02 15:04", when)
	if err != nil {
		return err
	}
	if err := s.notices.To(s.p, at); err != nil {
		return err
	}
	s.at = at
	return s.head(calendar.DayAt(at))
}

// head prints the heading of a day, once.
func (s *playing) head(day calendar.Day) error {
	if day == s.shown {
		return nil
	}
	s.shown = day
	_, err := fmt.Fprintf(s.out, "\n%s\n", s.sheet.Bold(day.Long()))
	return err
}

// tell prints a notice that fell due, without what it offers: in a conversation that has numbers to choose by.
func (s *playing) tell(_ context.Context, n scheduler.Notice) (scheduler.Receipt, error) {
	if err := s.head(n.Day); err != nil {
		return "", err
	}
	whom := "The group is told:"
	if n.Member.Name != "" {
		whom = n.Member.Name + " is told:"
	}
	var shown strings.Builder
	if err := s.sheet.Write(&shown, bot.Reply{Title: n.Title, Text: n.Text}, nil); err != nil {
		return "", err
	}
	_, err := fmt.Fprintf(s.out, "\n%s\n%s\n", s.sheet.Bold(whom), indent(shown.String()))
	return "printed", err
}

// ask asks as a member, and prints what that member would read.
func (s *playing) ask(who, request string) error {
	reply := s.desk.AnswerLine(s.p, bot.Ask{Who: party(who), Coop: party(seasonCoop), At: s.at, Clock: true, Adapter: "terminal", Direct: true}, request)
	if reply.Refusal != nil && reply.Refusal.Kind == fault.Internal {
		return fmt.Errorf("%s: %s", request, reply.Refusal.Text)
	}
	kept, err := terminal.Keep(s.files, reply.Files)
	if err != nil {
		return err
	}
	var shown strings.Builder
	if err := s.sheet.Write(&shown, reply, kept); err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "\n%s\n%s\n", s.sheet.Bold(who+": ")+request, indent(shown.String()))
	return err
}

func indent(text string) string {
	lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
	for i, line := range lines {
		if line != "" {
			lines[i] = "    " + line
		}
	}
	return strings.Join(lines, "\n")
}

// seasonEnding sets each target beside its bloom.
func seasonEnding(p *program, reg *register.Register) (bot.Reply, error) {
	reply := bot.Reply{Title: "The season's targets and blooms", Rows: bot.Table{Columns: bot.Columns("member", "variety", "wanted", "bloomed", "off", "stems", "picked")}}
	seat, err := reg.Find(p, party(seasonCoop).Key, party("Oona").Key)
	if err != nil {
		return reply, err
	}
	members, err := reg.Members(p, seat.Coop.ID)
	if err != nil {
		return reply, err
	}
	for _, m := range members {
		targets, err := reg.Targets(p, m.ID, 0)
		if err != nil {
			return reply, err
		}
		for _, t := range targets {
			flush, err := reg.Flush(p, t.ID)
			if err != nil {
				return reply, err
			}
			off := bot.Cell{}
			if !t.Bloomed.IsZero() {
				off = bot.Whole(t.Bloomed.Sub(t.Wanted.From))
			}
			reply.Rows.Add(bot.Text(m.Name), bot.Text(t.Name), bot.Day(t.Wanted.From), bot.Day(t.Bloomed), off, bot.Whole(t.Stems), bot.Whole(flush.Stems))
		}
	}
	reply.Text = "Off is in days: how much later than wanted it bloomed. Records such as these make next year's dates narrower."
	return reply, nil
}
