package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"shortday/bot/discord"
	"shortday/knowledge/fault"
)

// commands are what the program can do.
type commands struct {
	settings
	Version kong.VersionFlag `help:"Tell which Shortday this is."`

	Talk    talk    `cmd:"" help:"Hold a conversation."`
	Ask     ask     `cmd:"" help:"Ask once, and leave."`
	Watch   watch   `cmd:"" help:"Deliver notices without a conversation, until it is stopped."`
	Serve   serve   `cmd:"" help:"Answer in the co-op's own Discord server, until it is stopped."`
	Invite  invite  `cmd:"" help:"Print the link by which a steward adds the bot to a server."`
	Season  season  `cmd:"" help:"Watch one whole year of an invented co-op."`
	Import  bring   `cmd:"" help:"Enter a list that a spreadsheet saved, of plants, varieties, targets, notes or blooms: it shows what was understood, and asks."`
	Export  export  `cmd:"" help:"Write plants, varieties, targets, dates and diary as lists that a spreadsheet opens and import reads."`
	Backup  backup  `cmd:"" help:"Copy the register, also while it is in use."`
	Restore restore `cmd:"" help:"Put a backup in the register's place, after checking it."`
}

// program is what each command runs with.
type program struct {
	context.Context
	settings
	getenv         func(string) string
	stdin          io.Reader
	stdout, stderr io.Writer
	now            func() time.Time
	moved          <-chan struct{} // tells that now was put forward, in a rehearsal
	log            *slog.Logger
}

// exit ends the program with a status and without another word.
type exit int

func (e exit) Error() string { return fmt.Sprintf("exit status %d", int(e)) }

const (
	refused  exit = 1
	misused  exit = 2
	internal exit = 3
	barred   exit = 4 // Discord will not have it: to start again is of no use
)

// run is the whole program; it gives the exit status.
func run(ctx context.Context, args []string, getenv func(string) string, stdin io.Reader, stdout, stderr io.Writer) int {
	var c commands
	left := -1 // by --help
	parser, err := kong.New(&c, kong.Name("shortday"), kong.Writers(stdout, stderr), kong.Vars{"version": version()}, kong.Exit(func(status int) { left = status }),
		kong.Description("Chrysanthemums from stool to bloom: the dates of the year, the numbers to raise, the jobs that are due."))
	if err != nil {
		panic(err) // the struct above is wrong
	}
	command, err := parser.Parse(args)
	switch {
	case left >= 0:
		return left
	case err != nil:
		_, _ = fmt.Fprintf(stderr, "%s. shortday --help shows what can be written.\n", strings.TrimRight(err.Error(), ".?"))
		return int(misused)
	}
	p := &program{Context: ctx, settings: c.settings, getenv: getenv, stdin: stdin, stdout: stdout, stderr: stderr,
		now: time.Now, log: slog.New(c.handler(stderr))}
	return p.status(command.Run(p))
}

// status tells the user of an error, and gives the exit status for it.
func (p *program) status(err error) int {
	if err == nil {
		return 0
	}
	if status, ok := errors.AsType[exit](err); ok {
		return int(status)
	}
	if final, ok := errors.AsType[*discord.Final](err); ok {
		_, _ = fmt.Fprintln(p.stderr, final.Text)
		return int(barred)
	}
	if refusal, ok := errors.AsType[*fault.Error](err); ok && refusal.Kind != fault.Internal {
		_, _ = fmt.Fprintln(p.stderr, refusal.Text)
		return int(refused)
	}
	p.log.Error("shortday failed", "err", err)
	return int(internal)
}
