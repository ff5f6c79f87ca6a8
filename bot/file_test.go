package bot_test

import (
	"bytes"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/knowledge/fault"
)

func TestFilesThatAreSentAlong(t *testing.T) {
	t.Parallel()
	d, _ := desk(t, bot.Standing{})
	answer := func(file *bot.File) bot.Reply {
		_, fields, err := d.Read("/shed add tool:rake count:2")
		require.NoError(t, err)
		return d.Answer(t.Context(), bot.Ask{At: noon, Request: "/shed add", Fields: append(fields, bot.Entry{Field: "picture", File: file})})
	}
	require.Equal(t, "rake.png image/png 4", answer(&bot.File{Name: "rake\x1b.png", Type: "image/png", Data: []byte("rake")}).Text)
	require.Equal(t, "The file rake.png is empty. Send one that has something in it.", answer(&bot.File{Name: "rake.png"}).Refusal.Text)
	huge := answer(&bot.File{Name: "rake.png", Data: bytes.Repeat([]byte{1}, bot.Largest+1)})
	require.Equal(t, "The file rake.png has more than 20 MB. Send a smaller one, or part of it.", huge.Refusal.Text)
}

func TestFilesThatAreNamed(t *testing.T) {
	t.Parallel()
	d, _ := desk(t, bot.Standing{})
	const typed = "/shed add tool:rake count:2 picture:rake.png"
	reply := d.AnswerLine(t.Context(), bot.Ask{At: noon}, typed)
	require.Equal(t, fault.Missing, reply.Refusal.Kind, "where no path is read")
	require.Contains(t, reply.Refusal.Text, "Send the request again with the file attached.")
	open := func(path string) (bot.File, error) {
		require.Equal(t, "rake.png", path)
		return bot.File{Name: path, Type: "image/png", Data: []byte("rake")}, nil
	}
	require.Equal(t, "rake.png image/png 4", d.AnswerLine(t.Context(), bot.Ask{At: noon, Open: open}, typed).Text)
	fails := func(string) (bot.File, error) { return bot.File{}, errors.New("a secret") }
	require.Equal(t, fault.Internal, d.AnswerLine(t.Context(), bot.Ask{At: noon, Open: fails}, typed).Refusal.Kind)
}

// What was sent along cannot be typed again; what was named can.
func TestWrittenAskLeavesOutWhatCannotBeTyped(t *testing.T) {
	t.Parallel()
	sent := &bot.File{Name: "rake.png", Data: []byte("rake")}
	ask := bot.Ask{Request: "/shed add", Fields: []bot.Entry{{Field: "tool", Text: "rake"}, {Field: "picture", File: sent}}}
	require.Equal(t, "/shed add tool:rake", ask.String())
	ask.Fields[1].Text = "rake.png"
	require.Equal(t, "/shed add tool:rake picture:rake.png", ask.String())
	ask.Fields[1] = bot.Entry{Field: "picture"}
	require.Equal(t, `/shed add tool:rake picture:""`, ask.String())
}

func TestSize(t *testing.T) {
	t.Parallel()
	for bytes, want := range map[int]string{0: "0 bytes", 999: "999 bytes", 1000: "1 kB", 1_499: "1 kB", 1_500: "2 kB", 20_971_520: "20 MB"} {
		require.Equal(t, want, bot.Size(bytes))
	}
}
