package main

import (
	"errors"

	"shortday/bot/terminal"
)

// talk holds a conversation until the input ends.
type talk struct {
	Files string `placeholder:"DIR" help:"Keep the files that come with answers there."`
}

// Run talks.
func (t *talk) Run(p *program) (err error) {
	reg, desk, err := p.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	conversation, err := terminal.NewTalk(desk, p.asking, t.Files, p.stdin, p.stdout, terminal.Colours(p.stdout, p.getenv))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conversation.Close()) }()
	return conversation.Run(p)
}
