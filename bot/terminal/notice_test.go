package terminal_test

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/terminal"
	"shortday/knowledge/calendar"
	"shortday/scheduler"
)

var posted = scheduler.Notice{Key: "k7", Kind: "notice", Day: calendar.DayOf(2027, 3, 27), Coop: scheduler.Party{Key: "quay", Name: "Quay\x1b[31m"},
	Title: "Today", Text: "Stop: Nora.", Next: []scheduler.Offer{{Label: "All of it", Request: "/job due"}}}

func TestPosted(t *testing.T) {
	t.Parallel()
	var text bytes.Buffer
	require.NoError(t, terminal.Posted(&text, posted))
	require.Equal(t, "Quay[31m, Sat 27 Mar 2027, to the group\n\nToday\n\nStop: Nora.\n\n 1  All of it  /job due\n", text.String())
	own := posted
	own.Member.Name = "Nora"
	text.Reset()
	require.NoError(t, terminal.Posted(&text, own))
	require.Contains(t, text.String(), "to Nora\n\nToday\n(only you see this)")
}

func TestFolder(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "a", "b")
	folder, err := terminal.NewFolder(dir)
	require.NoError(t, err)
	platform := folder.Platform()
	_, there, err := platform.Find(t.Context(), posted)
	require.NoError(t, err)
	require.False(t, there)
	first, err := platform.Deliver(t.Context(), posted)
	require.NoError(t, err)
	found, there, err := platform.Find(t.Context(), posted)
	require.NoError(t, err)
	require.True(t, there)
	require.Equal(t, first, found)
	other := posted
	other.Key = "7"
	_, there, err = platform.Find(t.Context(), other)
	require.NoError(t, err)
	require.False(t, there, "the end of another's key is not its own")
	second, err := platform.Deliver(t.Context(), posted)
	require.NoError(t, err)
	require.NotEqual(t, first, second, "nothing is overwritten")
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, files, 2, "nothing else is left")
}

// A notice that comes while a line is typed leaves the line and the numbers offered before as they were.
func TestTell(t *testing.T) {
	t.Parallel()
	keys, typist := io.Pipe()
	var screen shared
	talk := terminal.NewEditedTalk(shed(), maren, keys, &screen)
	done := make(chan error)
	go func() { done <- talk.Run(t.Context()) }()
	press := func(text, then string) {
		_, err := io.WriteString(typist, text)
		require.NoError(t, err)
		require.Eventually(t, func() bool { return strings.HasSuffix(screen.String(), then) }, 5*time.Second, time.Millisecond, "%s", then)
	}
	press("/shed add tool:hoe wood:ash\r", "\r\n> ")
	before := screen.String()
	require.Contains(t, before, " 1  ")
	press("3", "> 3")
	notice := posted
	notice.Next = []scheduler.Offer{{Label: "All of it", Request: "/shed list"}}
	require.NoError(t, talk.Tell(notice))
	require.Contains(t, screen.String(), " 3  All of it  /shed list\r\n")
	require.True(t, strings.HasSuffix(screen.String(), "> 3"))
	press("\r", "\r\n> ")
	require.Contains(t, screen.String()[len(before):], "Tools", "the number takes what the notice offers")
	_, err := io.WriteString(typist, ctrlD)
	require.NoError(t, err)
	require.NoError(t, <-done)
}
