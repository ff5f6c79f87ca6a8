package main

import (
	"context"
	"flag"
	"fmt"
	"log/slog"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"shortday/bot"
	"shortday/bot/bottest"
	"shortday/bot/requests"
	"shortday/bot/terminal"
	"shortday/knowledge/register"
)

var update = flag.Bool("update", false, "write the replies in testdata anew")

func TestConversations(t *testing.T) {
	t.Parallel()
	bottest.Play(t, filepath.Join("..", "..", "testdata", "conversations"), *update, openConversation)
}

// conversation plays through a real register and the terminal's sheet.
type conversation struct {
	path    string
	reg     *register.Register
	desk    *bot.Desk
	offered map[string][]bot.Next // by who asked
}

func openConversation(ctx context.Context, dir string) (bottest.Adapter, error) {
	c := &conversation{path: filepath.Join(dir, "shortday.db"), offered: map[string][]bot.Next{}}
	return c, c.open(ctx)
}

func (c *conversation) open(ctx context.Context) (err error) {
	if c.reg, err = register.Open(ctx, c.path); err != nil {
		return err
	}
	c.desk = requests.NewDesk(c.reg, slog.New(slog.DiscardHandler))
	return nil
}

func (c *conversation) Say(ctx context.Context, turn bottest.Turn) (string, error) {
	shown, _, err := c.answer(ctx, turn)
	return shown, err
}

func (c *conversation) answer(ctx context.Context, turn bottest.Turn) (string, bot.Reply, error) {
	coop := turn.Coop
	if coop == "" {
		coop = "Hollow Lane"
	}
	who := turn.Who + " in " + coop
	request := turn.Request
	if n, err := strconv.Atoi(request); err == nil && n > 0 && n <= len(c.offered[who]) {
		request = c.offered[who][n-1].Request
	}
	reply := c.desk.AnswerLine(ctx, bot.Ask{Who: party(turn.Who), Coop: party(coop), At: turn.At, Clock: turn.Clock,
		Open: terminal.Files(turn.Dir), Adapter: "terminal", Direct: true}, request)
	c.offered[who] = reply.Next
	for _, next := range reply.Next {
		if _, _, err := c.desk.Read(next.Request); err != nil {
			return "", reply, fmt.Errorf("%q is offered and cannot be asked: %w", next.Request, err)
		}
	}
	var shown strings.Builder
	err := terminal.Sheet{Width: 100}.Write(&shown, reply, nil)
	return shown.String(), reply, err
}

func (c *conversation) Restart(ctx context.Context) error {
	if err := c.reg.Close(); err != nil {
		return err
	}
	return c.open(ctx)
}

func (c *conversation) Close() error { return c.reg.Close() }
