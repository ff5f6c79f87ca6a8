package terminal_test

import (
	"context"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot/terminal"
)

func talk(t *testing.T, keep, typed string) string {
	t.Helper()
	var out strings.Builder
	talk, err := terminal.NewTalk(shed(), maren, keep, strings.NewReader(typed), &out, false)
	require.NoError(t, err)
	require.NoError(t, talk.Run(t.Context()))
	require.NoError(t, talk.Close())
	return out.String()
}

func TestPipedTalk(t *testing.T) {
	t.Parallel()
	const answer = "rake of ash M\n\n[../rake.txt, 4 bytes] a rake\n\n 1  See all  /shed list\n 2  Another  /shed add\n\n"
	const asked = "tool, what it is called:\nwood, what the handle is of (ash, beech):\n"
	require.Equal(t, answer, talk(t, "", "\n/shed add tool:rake wood:ash mark:M\n\n"))
	require.Equal(t, asked+answer, talk(t, "", "shed add mark:M\nrake\n\nash\n"), "missing fields one by one")
	require.Equal(t, answer+"Tools\n(only you see this)\n\n", talk(t, "", "/shed add tool:rake wood:ash mark:M\n1\n"), "taken by number")
	const missed = "99 is not offered. Type a number from 1 to 2 for what the last reply offers, or a request.\n"
	require.Equal(t, answer+missed+"Tools\n(only you see this)\n\n", talk(t, "", "/shed add tool:rake wood:ash mark:M\n99\n1\n"), "the offers stand")
	require.Contains(t, talk(t, "", "/shed add tool:rake wood:ash mark:M\n/shed fly\n1\n"), "There is no request /1.", "what an older reply offered is not taken")
	require.Equal(t, "tool, what it is called:\nTools\n(only you see this)\n\n", talk(t, "", "/shed add\n/shed list\n"), "a request in place of a field")
	require.Contains(t, talk(t, "", "7\n"), "There is no request /7.")
	require.Equal(t, "tool, what it is called:\n", talk(t, "", "/shed add\n"), "the input ends at a field")
}

func TestTalkKeepsFiles(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.Contains(t, talk(t, dir, "/shed add tool:rake wood:ash\n"), "kept as "+filepath.Join(dir, "rake.txt"))
}

func TestTalkEndsWithItsContext(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	in, _ := io.Pipe()
	talk, err := terminal.NewTalk(shed(), maren, "", in, io.Discard, false)
	require.NoError(t, err)
	cancel()
	require.NoError(t, talk.Run(ctx))
}
