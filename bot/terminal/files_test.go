package terminal_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/terminal"
	"shortday/knowledge/fault"
)

func TestFiles(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "my list.csv")
	require.NoError(t, os.WriteFile(path, []byte("variety;count\n"), 0o600))
	for _, name := range []string{"my list.csv", path} {
		file, err := terminal.Files(dir)(name)
		require.NoError(t, err)
		require.Equal(t, "my list.csv", file.Name)
		require.Equal(t, "variety;count\n", string(file.Data))
	}
	large := filepath.Join(dir, "large.csv")
	require.NoError(t, os.WriteFile(large, nil, 0o600))
	require.NoError(t, os.Truncate(large, bot.Largest+1))
	for name, want := range map[string]string{
		"none.csv":  "There is no file none.csv",
		".":         "is no file that can be read",
		"large.csv": "The file large.csv has more than 20 MB",
		"a\x00b":    "cannot be read",
	} {
		_, err := terminal.Files(dir)(name)
		require.ErrorContains(t, err, want)
		require.NotEqual(t, fault.Internal, fault.KindOf(err), "%s", strings.ToValidUTF8(name, ""))
	}
}
