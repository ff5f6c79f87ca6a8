package main

import (
	"bufio"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"shortday/bot"
	"shortday/bot/terminal"
)

// ask answers one request, or one a line of standard input.
type ask struct {
	JSON    bool     `name:"json" help:"Answer with one JSON object a line."`
	Files   string   `placeholder:"DIR" help:"Keep the files that come with answers there."`
	Request []string `arg:"" help:"A request such as: /when bloom shortdays:2026-10-11 response:10 place:39.7,-105. With - one a line is read."`
}

// Run asks. It ends with refused when a request was refused, and with internal when one failed.
func (a *ask) Run(p *program) (err error) {
	reg, desk, err := p.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	if len(a.Request) != 1 || a.Request[0] != "-" {
		return worse(nil, a.answer(p, desk, typed(a.Request)))
	}
	return a.each(p, desk)
}

// each answers one request a line until the input ends, or the program is told to: a read from it that waits stays
// behind.
func (a *ask) each(p *program, desk *bot.Desk) (worst error) {
	lines := make(chan string)
	ended := make(chan error, 1)
	go func() {
		in := bufio.NewScanner(p.stdin)
		in.Buffer(nil, 1<<20)
		for in.Scan() {
			select {
			case lines <- strings.TrimSpace(in.Text()):
			case <-p.Done():
				return
			}
		}
		ended <- in.Err()
	}()
	for {
		select {
		case line := <-lines:
			if line != "" {
				worst = worse(worst, a.answer(p, desk, line))
			}
		case err := <-ended:
			if err != nil {
				return fmt.Errorf("reading requests: %w", err)
			}
			return worst
		case <-p.Done():
			return worst
		}
	}
}

func (a *ask) answer(p *program, desk *bot.Desk, request string) error {
	reply := desk.AnswerLine(p, p.asking(), request)
	kept, err := terminal.Keep(a.Files, reply.Files)
	if err != nil {
		return err
	}
	if a.JSON {
		line, err := terminal.JSON(request, reply, kept)
		if err != nil {
			return err
		}
		if _, err := p.stdout.Write(line); err != nil {
			return err
		}
	} else {
		if err := p.show(reply, kept); err != nil {
			return err
		}
	}
	return ended(reply)
}

// worse gives the more serious of two outcomes.
func worse(a, b error) error {
	if b == nil || errors.Is(a, internal) {
		return a
	}
	return b
}

var unquotedField = regexp.MustCompile(`^(\p{L}[\p{L}\p{N}_-]*):\s*([^"“”„«»\s].*\s.*)$`)

// typed joins the words of a command line. The shell has taken the quotes off a value with blanks; they are put back.
func typed(words []string) string {
	words = append([]string(nil), words...)
	for i, word := range words[1:] {
		if m := unquotedField.FindStringSubmatch(word); m != nil {
			words[i+1] = strings.TrimSpace(bot.Typed("", m[1], m[2]))
		}
	}
	return strings.Join(words, " ")
}
