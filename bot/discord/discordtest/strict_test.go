package discordtest_test

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/discord/discordtest"
)

func do(t *testing.T, s *discordtest.Service, method, path, body string) (int, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, s.URL()+"/api/v10"+path, bytes.NewBufferString(body))
	require.NoError(t, err)
	r.Header.Set("Authorization", "Bot "+discordtest.Token)
	r.Header.Set("User-Agent", "DiscordBot (test, 1)")
	r.Header.Set("Content-Type", "application/json")
	resp, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer resp.Body.Close()
	answer, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	return resp.StatusCode, string(answer)
}

const quiet = `"allowed_mentions":{"parse":[]}`

// TestMessagesRefused: what platform.md says the published description does not see, and the rest.
func TestMessagesRefused(t *testing.T) {
	t.Parallel()
	row := func(buttons ...string) string {
		return `{"type":1,"components":[` + strings.Join(buttons, ",") + `]}`
	}
	button := func(id string) string { return fmt.Sprintf(`{"type":2,"style":1,"label":"a","custom_id":%q}`, id) }
	card := func(n int) string { return fmt.Sprintf(`{"description":%q}`, strings.Repeat("x", n)) }
	cases := map[string]string{
		"text of 2,001":             `{"content":"` + strings.Repeat("x", 2001) + `",` + quiet + `}`,
		"nothing":                   `{` + quiet + `}`,
		"blank":                     `{"content":" ",` + quiet + `}`,
		"mentions left out":         `{"content":"x"}`,
		"mentions that parse":       `{"content":"x","allowed_mentions":{"parse":["everyone"]}}`,
		"mentions without parse":    `{"content":"x","allowed_mentions":{}}`,
		"an unknown field":          `{"content":"x","colour":1,` + quiet + `}`,
		"6,001 in cards":            `{"embeds":[` + card(3001) + `,` + card(3000) + `],` + quiet + `}`,
		"a card of 4,097":           `{"embeds":[` + card(4097) + `],` + quiet + `}`,
		"an empty card":             `{"embeds":[{}],` + quiet + `}`,
		"a picture not attached":    `{"embeds":[{"image":{"url":"attachment://a.png"}}],` + quiet + `}`,
		"six rows":                  `{"content":"x","components":[` + row(button("1")) + `,` + row(button("2")) + `,` + row(button("3")) + `,` + row(button("4")) + `,` + row(button("5")) + `,` + row(button("6")) + `],` + quiet + `}`,
		"six buttons":               `{"content":"x","components":[` + row(button("1"), button("2"), button("3"), button("4"), button("5"), button("6")) + `],` + quiet + `}`,
		"one id twice":              `{"content":"x","components":[` + row(button("1"), button("1")) + `],` + quiet + `}`,
		"an id of 101":              `{"content":"x","components":[` + row(button(strings.Repeat("x", 101))) + `],` + quiet + `}`,
		"an empty row":              `{"content":"x","components":[` + row() + `],` + quiet + `}`,
		"a nonce of 26":             `{"content":"x","nonce":"` + strings.Repeat("x", 26) + `","enforce_nonce":true,` + quiet + `}`,
		"a nonce not enforced":      `{"content":"x","nonce":"x",` + quiet + `}`,
		"private in a channel":      `{"content":"x","flags":64,` + quiet + `}`,
		"a menu of twenty-six":      `{"content":"x","components":[{"type":1,"components":[{"type":3,"custom_id":"m","options":[` + options(26) + `]}]}],` + quiet + `}`,
		"one value twice in a menu": `{"content":"x","components":[{"type":1,"components":[{"type":3,"custom_id":"m","options":[` + options(1) + `,` + options(1) + `]}]}],` + quiet + `}`,
	}
	for name, body := range cases {
		s := discordtest.New(t, discordtest.Options{Now: time.Now})
		channel := s.AddGuild("g").AddChannel("c")
		status, _ := do(t, s, http.MethodPost, "/channels/"+channel.ID+"/messages", body)
		require.Equal(t, http.StatusBadRequest, status, name)
		require.NotEmpty(t, s.Forgive(), name)
		require.Empty(t, channel.Messages(), name)
	}
}

func options(n int) string {
	var list []string
	for i := range n {
		list = append(list, fmt.Sprintf(`{"label":"l","value":"v%d"}`, i))
	}
	return strings.Join(list, ",")
}

// TestCommandsRefused: names, sums, orders and doubles.
func TestCommandsRefused(t *testing.T) {
	t.Parallel()
	command := func(options string) string {
		return `[{"name":"a","description":"d","options":[` + options + `]}]`
	}
	many := make([]string, 25)
	for i := range many {
		many[i] = fmt.Sprintf(`{"type":1,"name":"s%d","description":"d","options":[%s]}`, i,
			strings.TrimSuffix(strings.Repeat(`{"type":3,"name":"NAME","description":"`+strings.Repeat("x", 100)+`"},`, 4), ","))
		for n := range 4 {
			many[i] = strings.Replace(many[i], "NAME", fmt.Sprint("o", n), 1)
		}
	}
	cases := map[string]string{
		"a capital":               `[{"name":"Stock","description":"d"}]`,
		"a blank":                 `[{"name":"a b","description":"d"}]`,
		"no description":          `[{"name":"a","description":""}]`,
		"twice":                   `[{"name":"a","description":"d"},{"name":"a","description":"d"}]`,
		"required after optional": command(`{"type":3,"name":"x","description":"d"},{"type":3,"name":"y","description":"d","required":true}`),
		"option twice":            command(`{"type":3,"name":"x","description":"d"},{"type":3,"name":"x","description":"d"}`),
		"choices and completion":  command(`{"type":3,"name":"x","description":"d","autocomplete":true,"choices":[{"name":"n","value":"v"}]}`),
		"bounds of a text":        command(`{"type":3,"name":"x","description":"d","min_value":1}`),
		"field beside subcommand": command(`{"type":1,"name":"x","description":"d"},{"type":3,"name":"y","description":"d"}`),
		"8,001 in all":            command(strings.Join(many, ",")),
	}
	for name, body := range cases {
		s := discordtest.New(t, discordtest.Options{Now: time.Now})
		status, _ := do(t, s, http.MethodPut, "/applications/1147000000000000001/commands", body)
		require.Equal(t, http.StatusBadRequest, status, name)
		require.NotEmpty(t, s.Forgive(), name)
		require.Empty(t, s.Commands(), name)
	}
}

// TestNonce: the same nonce gives the earlier message back, and history tells none.
func TestNonce(t *testing.T) {
	t.Parallel()
	s := discordtest.New(t, discordtest.Options{Now: time.Now})
	channel := s.AddGuild("g").AddChannel("c")
	body := `{"content":"x","nonce":"n1","enforce_nonce":true,` + quiet + `}`
	_, first := do(t, s, http.MethodPost, "/channels/"+channel.ID+"/messages", body)
	require.Contains(t, first, `"nonce":"n1"`)
	do(t, s, http.MethodPost, "/channels/"+channel.ID+"/messages", body)
	require.Len(t, channel.Messages(), 1)
	_, history := do(t, s, http.MethodGet, "/channels/"+channel.ID+"/messages?limit=100", "")
	require.Contains(t, history, `"content":"x"`)
	require.NotContains(t, history, "nonce")
	channel.Deny(discordtest.ReadHistory)
	_, history = do(t, s, http.MethodGet, "/channels/"+channel.ID+"/messages?limit=100", "")
	require.Equal(t, "[]", history)
}

// TestLimitsAreHeld: whoever does not heed the headers is refused, and it is a violation.
func TestLimitsAreHeld(t *testing.T) {
	t.Parallel()
	s := discordtest.New(t, discordtest.Options{Now: time.Now})
	channel := s.AddGuild("g").AddChannel("c")
	status := 0
	for n := range 6 {
		status, _ = do(t, s, http.MethodPost, "/channels/"+channel.ID+"/messages", fmt.Sprintf(`{"content":"%d",%s}`, n, quiet))
	}
	require.Equal(t, http.StatusTooManyRequests, status)
	require.NotEmpty(t, s.Forgive())
}
