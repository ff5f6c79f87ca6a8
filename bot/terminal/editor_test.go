package terminal_test

import (
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/terminal"
)

const (
	up    = "\x1b[A"
	ctrlC = "\x03"
	ctrlD = "\x04"
)

// edited types keys and gives what the screen got.
func edited(t *testing.T, keys string) string {
	t.Helper()
	var screen strings.Builder
	require.NoError(t, terminal.NewEditedTalk(shed(), maren, strings.NewReader(keys), &screen).Run(t.Context()))
	return screen.String()
}

func TestKeys(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ keys, want string }{
		"tab completes a family":           {"/sh\tlist\r", "Tools"},
		"tab completes a request":          {"/shed l\t\r", "Tools"},
		"tab completes fields and values":  {"/shed add to\th\two\tb\t\r", "hoe of beech"},
		"tab quotes a value with blanks":   {"/shed add tool:long s\twood:a\t\r", "long spade of ash"},
		"tab types what several share":     {"/shed add tool:l\tr\twood:a\t\r", "long rake of ash"},
		"tab lists what several could be":  {"/shed add tool:hoe wood:ash ma\tx" + ctrlC, "mark: a word cut into it\r\nmade: who made it"},
		"tab completes a field asked for":  {"/shed add\rho\t\ra\t\r", "hoe of ash"},
		"tab offers a value only once":     {"/shed add tool:hoe \two\ta\t\r", "hoe of ash"},
		"ctrl-c drops the line":            {"/shed add" + ctrlC + "/shed list\r", "Tools"},
		"ctrl-c drops a field and request": {"/shed add\rrake" + ctrlC + "/shed list\r", "Tools"},
		"up brings the last line back":     {"/shed list\r" + ctrlC + "\r" + up + "\r", "Tools\r\n(only you see this)\r\n\r\n> \r\n> \r\n> /shed list\r\nTools"},
		"a request filled in is kept":      {"/shed add tool:hoe\rash\r" + up + " mark:M\r", "hoe of ash M"},
		"a number takes what was offered":  {"/shed add tool:hoe wood:ash\r1\r", "Tools"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			require.Contains(t, edited(t, c.keys+ctrlD), c.want)
		})
	}
	require.NotContains(t, edited(t, "/shed list"+ctrlC+"\r"+ctrlD+"/shed list\r"), "Tools", "ctrl-d leaves")
}

// A notice that comes while a line is typed stands above it, and what was typed is not lost.
func TestAbove(t *testing.T) {
	t.Parallel()
	keys, typist := io.Pipe()
	var screen shared
	talk := terminal.NewEditedTalk(shed(), maren, keys, &screen)
	done := make(chan error)
	go func() { done <- talk.Run(t.Context()) }()
	_, err := io.WriteString(typist, "/shed li")
	require.NoError(t, err)
	require.Eventually(t, func() bool { return strings.HasSuffix(screen.String(), "/shed li") }, 5*time.Second, time.Millisecond)
	require.NoError(t, talk.Above("Stop: \x1b[2JGilt today."))
	require.True(t, strings.HasSuffix(screen.String(), "Stop: [2JGilt today.\r\n> /shed li"), "%q", screen.String())
	_, err = io.WriteString(typist, "st\r"+ctrlD)
	require.NoError(t, err)
	require.NoError(t, <-done)
	require.Contains(t, screen.String(), "Tools")
}

type shared struct {
	mu sync.Mutex
	b  strings.Builder
}

func (s *shared) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *shared) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}
