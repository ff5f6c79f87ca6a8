package bottest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// stage is where one script plays: its adapter, and the clock.
type stage struct {
	ctx     context.Context
	adapter Adapter
	dir     string
	blank   bool // replies are written anew, so none is wanted
	now     Turn // At and Clock only
}

func (s *stage) at(_ *testscript.TestScript, args []string) error {
	return s.set(strings.Join(args, " "))
}

func (s *stage) set(text string) error {
	var err error
	if s.now.At, err = time.Parse(time.RFC3339, text); err == nil {
		s.now.Clock = false
		return nil
	}
	s.now.Clock = true
	if s.now.At, err = time.Parse("2006-01-02 15:04", text); err != nil {
		return fmt.Errorf("at takes 2027-03-01 07:00 on the asker's clock or 2027-03-01T07:00:00Z, not %q", text)
	}
	return nil
}

func (s *stage) restart(_ *testscript.TestScript, args []string) error {
	if len(args) > 0 {
		return errors.New("restart takes nothing")
	}
	return s.adapter.Restart(s.ctx)
}

func (s *stage) ask(ts *testscript.TestScript, args []string) error {
	turn := Turn{Who: "Anna"}
	for len(args) > 1 && (args[0] == "-as" || args[0] == "-coop") {
		if args[0] == "-as" {
			turn.Who = args[1]
		} else {
			turn.Coop = args[1]
		}
		args = args[2:]
	}
	turn.Request = strings.Join(args, " ")
	shown, err := s.say(turn)
	if err != nil {
		return err
	}
	_, err = io.WriteString(ts.Stdout(), shown)
	return err
}

func (s *stage) say(turn Turn) (string, error) {
	if s.now.At.IsZero() {
		return "", errors.New("the first line has to set the clock, as in: at 2027-03-01 07:00")
	}
	turn.At, turn.Clock, turn.Dir = s.now.At, s.now.Clock, s.dir
	return s.adapter.Say(s.ctx, turn)
}

func (s *stage) conversation(ts *testscript.TestScript, args []string) error {
	if len(args) != 1 {
		return errors.New("conversation takes one file")
	}
	played, err := s.play(ts.ReadFile(args[0]))
	if err != nil {
		return err
	}
	_, err = io.WriteString(ts.Stdout(), played)
	return err
}

var spoken = regexp.MustCompile(`^> ([^:]+?)(?: in ([^:]+))?: (.*)$`)

const indent = "    "

// play plays a dialogue and gives it with the replies that came. Its lines are
//
//	# a remark
//	at 2027-03-01 07:00
//	> Anna: /stock add variety:Gilt count:12
//	> Anna in Hollow Lane: 2
//	restart
//
// and indented ones, which are replies to the line before.
func (s *stage) play(dialogue string) (string, error) {
	var out strings.Builder
	lines := strings.Split(strings.TrimSuffix(dialogue, "\n"), "\n")
	for i := 0; i < len(lines); i++ {
		line := lines[i]
		if replied(line) {
			return "", fmt.Errorf("line %d replies to nothing: %q", i+1, line)
		}
		out.WriteString(line + "\n")
		from := i + 1
		for i+1 < len(lines) && replied(lines[i+1]) {
			i++
		}
		shown, err := s.perform(line, unindented(lines[from:i+1]))
		if err != nil {
			return "", fmt.Errorf("%s: %w", line, err)
		}
		out.WriteString(indented(shown))
	}
	return out.String(), nil
}

func (s *stage) perform(line, want string) (string, error) {
	switch m := spoken.FindStringSubmatch(line); {
	case m != nil:
		if s.blank {
			want = ""
		}
		return s.say(Turn{Who: m[1], Coop: m[2], Request: m[3], Want: want})
	case line == "restart":
		return "", s.adapter.Restart(s.ctx)
	case strings.HasPrefix(line, "at "):
		return "", s.set(line[len("at "):])
	case strings.HasPrefix(line, "#"):
		return "", nil
	default:
		return "", errors.New("neither a remark, at, restart nor a request as in > Anna: /help")
	}
}

func replied(line string) bool { return line == "" || strings.HasPrefix(line, indent) }

func unindented(lines []string) string {
	var b strings.Builder
	for _, line := range lines {
		b.WriteString(strings.TrimPrefix(line, indent) + "\n")
	}
	return strings.TrimSpace(b.String())
}

// indented gives a reply as it stands in a dialogue, with an empty line after it.
func indented(shown string) string {
	if shown = strings.TrimSpace(shown); shown == "" {
		return ""
	}
	var b strings.Builder
	for line := range strings.SplitSeq(shown, "\n") {
		b.WriteString(strings.TrimRight(indent+line, " ") + "\n")
	}
	return b.String() + "\n"
}
