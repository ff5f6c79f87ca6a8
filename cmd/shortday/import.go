package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"shortday/bot"
	"shortday/bot/terminal"
	"shortday/knowledge/fault"
)

// bring enters a list that a spreadsheet saved: of plants, varieties, stops, targets, notes or blooms.
type bring struct {
	File      string `arg:"" help:"The list: a CSV file of a spreadsheet, or one that export wrote."`
	For       string `placeholder:"NAME" help:"The member whose they are, if a steward brings them."`
	Varieties bool   `help:"Add the varieties of the list that the co-op lacks."`
	Yes       bool   `help:"Enter what was understood, without asking."`
}

// Run shows what was understood, and enters it once that is confirmed.
func (b *bring) Run(p *program) (err error) {
	reg, desk, err := p.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	shown := desk.AnswerLine(p, p.asking(), bot.Typed("/stock add", "file", b.File, "for", b.For))
	if err := p.show(shown, nil); err != nil || shown.Refusal != nil {
		return errors.Join(err, ended(shown))
	}
	enter, ok := b.chosen(shown.Next)
	if !ok {
		return nil
	}
	if !b.Yes {
		if yes, err := p.confirmed(enter.Label); err != nil || !yes {
			return err
		}
	}
	ask := p.asking()
	ask.Progress = func(done, of int) { _, _ = fmt.Fprintf(p.stderr, "%d of %d …\n", done, of) }
	entered := desk.AnswerLine(p, ask, enter.Request)
	return errors.Join(p.show(entered, nil), ended(entered))
}

// chosen gives the request that enters the list, with its new varieties where those are wanted.
func (b *bring) chosen(next []bot.Next) (bot.Next, bool) {
	for _, n := range next {
		if strings.Contains(n.Request, " varieties:") == b.Varieties {
			return n, true
		}
	}
	if len(next) > 0 && b.Varieties {
		return next[0], true // the co-op lacks none
	}
	return bot.Next{}, false
}

// show sets a reply as ask does.
func (p *program) show(reply bot.Reply, kept []string) error {
	sheet := terminal.Sheet{Width: terminal.Width(p.stdout), Colour: terminal.Colours(p.stdout, p.getenv)}
	return sheet.Write(p.stdout, reply, kept)
}

// ended gives the exit that a reply stands for.
func ended(reply bot.Reply) error {
	switch {
	case reply.Refusal == nil:
		return nil
	case reply.Refusal.Kind == fault.Internal:
		return internal
	default:
		return refused
	}
}

// confirmed asks on a terminal whether to do it. Where nobody can be asked, it says how to.
func (p *program) confirmed(label string) (bool, error) {
	if !terminal.Typed(p.stdin) {
		_, err := fmt.Fprintln(p.stdout, "With --yes it is entered.")
		return false, err
	}
	if _, err := fmt.Fprintf(p.stdout, "%s? yes or no: ", label); err != nil {
		return false, err
	}
	answer, err := bufio.NewReader(p.stdin).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return false, err
	}
	answer = strings.ToLower(strings.TrimSpace(answer))
	return answer == "yes" || answer == "y", nil
}
