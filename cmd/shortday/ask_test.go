package main

import (
	"bufio"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Requests that come by a pipe end with the program, also while none comes.
func TestAskEndsWhenItIsTold(t *testing.T) {
	t.Parallel()
	ask := exec.Command("shortday", "ask", "--db", filepath.Join(t.TempDir(), "ask.db"), "-")
	in, err := ask.StdinPipe()
	require.NoError(t, err)
	out, err := ask.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, ask.Start())
	_, err = in.Write([]byte("/help help\n"))
	require.NoError(t, err)
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	require.NotEmpty(t, line)
	begun := time.Now()
	require.NoError(t, ask.Process.Signal(syscall.SIGTERM))
	require.NoError(t, ask.Wait())
	require.Less(t, time.Since(begun), 5*time.Second)
}
