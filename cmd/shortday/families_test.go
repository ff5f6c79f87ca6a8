package main

import (
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/requests"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// Every example is understood; on an empty register it may name what is not there. Written back it reads the same.
func TestEveryExampleIsUnderstood(t *testing.T) {
	t.Parallel()
	desk := emptyDesk(t)
	ask := bot.Ask{Who: party("Anna"), Coop: party("Hollow Lane"), At: time.Date(2027, time.March, 1, 7, 0, 0, 0, time.UTC), Direct: true}
	for _, f := range desk.Families() {
		for _, r := range f.Requests {
			for _, example := range r.Examples {
				request, fields, err := desk.Read(example)
				require.NoError(t, err, example)
				require.Equal(t, f.Path(r), request, example)
				_, again, err := desk.Read(bot.Ask{Request: request, Fields: fields}.String())
				require.NoError(t, err, example)
				require.Equal(t, fields, again, example)
				if refusal := desk.AnswerLine(t.Context(), ask, example).Refusal; refusal != nil {
					require.NotContains(t, []fault.Kind{fault.Unclear, fault.Internal}, refusal.Kind, "%s: %s", example, refusal.Text)
				}
			}
		}
	}
}

// The conversations are the manual: none of the requests may be lacking there.
func TestEveryRequestHasAConversation(t *testing.T) {
	t.Parallel()
	scripts, err := filepath.Glob(filepath.Join("..", "..", "testdata", "conversations", "*.txtar"))
	require.NoError(t, err)
	var all []byte
	for _, script := range scripts {
		text, err := os.ReadFile(script)
		require.NoError(t, err)
		all = append(all, text...)
	}
	for _, f := range emptyDesk(t).Families() {
		for _, r := range f.Requests {
			require.Regexp(t, `(?m)^(> [^:]+: |ask .*)`+f.Path(r)+`\b`, string(all))
		}
	}
}

func emptyDesk(t *testing.T) *bot.Desk {
	t.Helper()
	reg, err := register.Open(t.Context(), filepath.Join(t.TempDir(), "shortday.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	return requests.NewDesk(reg, slog.New(slog.DiscardHandler))
}
