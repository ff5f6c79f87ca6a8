package terminal

import (
	"io"

	"shortday/bot"
)

// NewEditedTalk makes a conversation whose lines are edited on a screen of 60 cells that is not a terminal.
func NewEditedTalk(desk *bot.Desk, ask func() bot.Ask, keys io.Reader, screen io.Writer) *Talk {
	size := func() (int, int, error) { return 60, 24, nil }
	return &Talk{desk: desk, ask: ask, lines: newEditor(keys, screen, size)}
}
