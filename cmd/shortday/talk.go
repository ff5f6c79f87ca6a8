package main

import (
	"context"
	"errors"

	"shortday/bot/terminal"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/scheduler"
)

// talk holds a conversation until the input ends.
type talk struct {
	striking
	Files string `placeholder:"DIR" help:"Keep the files that come with answers there."`
}

// Run talks. By another clock than the real one nothing is struck.
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
	if p.At.IsZero() {
		stop, err := t.tell(p, reg, conversation)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, stop()) }()
	}
	return conversation.Run(p)
}

// tell shows the notices of the co-op, and the reminders of who talks, above the line being typed. Where another
// process tells them this one says so and leaves it to that one.
func (t *talk) tell(p *program, reg *register.Register, conversation *terminal.Talk) (stop func() error, err error) {
	platform := scheduler.Platform{Deliver: func(_ context.Context, n scheduler.Notice) (scheduler.Receipt, error) {
		return "shown", conversation.Tell(n)
	}}
	asking := p.asking()
	stop, err = t.strike(p, scheduler.Config{Register: reg, Adapter: register.Terminal, Platform: platform, Show: conversation.Tell,
		Only: scheduler.Only{Coop: asking.Coop.Key, Member: asking.Who.Key}})
	if refusal, ok := errors.AsType[*fault.Error](err); ok && refusal.Kind == fault.Taken {
		const elsewhere = "Another Shortday sends the notices of this register, so none are shown here. All else works as ever."
		return func() error { return nil }, conversation.Above(elsewhere)
	}
	return stop, err
}
