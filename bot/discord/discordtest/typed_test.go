package discordtest_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"shortday/bot/discord/discordtest"
)

var typed = flag.Bool("types", false, "hold recorded interactions against npm's discord-api-types, which needs npm and the network")

// link opens a link as a bot would, and gives what comes by it.
func link(t *testing.T, s *discordtest.Service) *websocket.Conn {
	t.Helper()
	conn, resp, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(s.URL(), "http")+"/link/?v=10&encoding=json", nil)
	require.NoError(t, err)
	require.NoError(t, resp.Body.Close())
	t.Cleanup(func() { require.NoError(t, conn.Close()) })
	identify := fmt.Sprintf(`{"op":2,"d":{"token":%q,"intents":1,"properties":{"os":"linux"}}}`, discordtest.Token)
	require.NoError(t, conn.WriteMessage(websocket.TextMessage, []byte(identify)))
	require.NoError(t, s.AwaitReady(1, 10*time.Second))
	return conn
}

// recorded gives the next interaction that comes.
func recorded(t *testing.T, conn *websocket.Conn) string {
	t.Helper()
	for {
		var p struct {
			T string          `json:"t"`
			D json.RawMessage `json:"d"`
		}
		require.NoError(t, conn.SetReadDeadline(time.Now().Add(10*time.Second)))
		require.NoError(t, conn.ReadJSON(&p))
		if p.T == "INTERACTION_CREATE" {
			return string(p.D)
		}
	}
}

// sent sends a request as a bot would.
func sent(t *testing.T, s *discordtest.Service, method, path, body string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, s.URL()+"/api/v10"+path, strings.NewReader(body))
	require.NoError(t, err)
	r.Header.Set("Authorization", "Bot "+discordtest.Token)
	r.Header.Set("User-Agent", "DiscordBot (test)")
	r.Header.Set("Content-Type", "application/json")
	resp, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	require.NoError(t, resp.Body.Close())
	require.Less(t, resp.StatusCode, 300)
}

const typedCommands = `[{"name":"shelf","description":"all","options":[{"type":1,"name":"put","description":"put","options":[
{"type":3,"name":"name","description":"a text","autocomplete":true},{"type":4,"name":"count","description":"a number"},{"type":5,"name":"sure","description":"yes"},
{"type":6,"name":"to","description":"a member"},{"type":7,"name":"at","description":"a channel"},{"type":8,"name":"for","description":"a role"},{"type":11,"name":"list","description":"a file"}]}]}]`

const typedMessage = `{"content":"here","allowed_mentions":{"parse":[]},"components":[{"type":1,"components":[{"type":2,"style":1,"label":"Go","custom_id":"go"}]},
{"type":1,"components":[{"type":3,"custom_id":"pick","placeholder":"Pick","options":[{"label":"One","value":"1"}]}]},
{"type":1,"components":[{"type":5,"custom_id":"who","placeholder":"Who"}]},{"type":1,"components":[{"type":8,"custom_id":"where","placeholder":"Where"}]}]}`

// typedHead lets enumerations be written as JSON has them: words as words, and no flags as 0.
const typedHead = `import type * as D from 'discord-api-types/v10';
type Written<T> = T extends string ? ` + "`${T}`" + ` : T extends number ? T | 0 : T extends object ? { [K in keyof T]: Written<T[K]> } : T;
`

const typedForm = `{"type":9,"data":{"custom_id":"form","title":"Form","components":[{"type":1,"components":[{"type":4,"custom_id":"name","label":"name","style":1}]}]}}`

// TestInteractionsAreOfThePlatformsTypes: what the service tells of each kind of interaction is what published types say.
func TestInteractionsAreOfThePlatformsTypes(t *testing.T) {
	t.Parallel()
	if !*typed {
		t.Skip("Interactions are not held against npm's discord-api-types: that needs npm and go test ./bot/discord/discordtest -types.")
	}
	s := discordtest.New(t, discordtest.Options{Now: time.Now})
	guild := s.Settle("", "Weir Lane Growers", "general")
	channel := guild.Channels()[0]
	orla := guild.AddMember("Orla", discordtest.ManageServer)
	role := guild.AddRole("Head growers", orla)
	conn := link(t, s)
	sent(t, s, http.MethodPut, "/applications/1147000000000000001/commands", typedCommands)
	var file bytes.Buffer
	file.WriteString(typedHead)
	n := 0
	keep := func(kind string, _ *discordtest.Interaction, err error) {
		require.NoError(t, err)
		n++
		fmt.Fprintf(&file, "export const a%d: Written<%s> = %s;\n", n, kind, recorded(t, conn))
	}
	for _, in := range []struct {
		member  *discordtest.Member
		channel *discordtest.Channel
		kind    string
	}{{orla, channel, "D.APIGuildInteractionWrapper"}, {orla.User.In(), orla.User.Direct(), "D.APIDMInteractionWrapper"}} {
		of := func(kind string) string { return in.kind + "<D." + kind + ">" }
		values := discordtest.Values{"name": "Ember", "count": "3", "sure": "true", "list": s.Upload("list.csv", "text/csv", []byte("a,b"))}
		if in.member == orla {
			values["to"], values["at"], values["for"] = "Orla", "general", role.ID
		}
		asked, err := in.member.Slash(in.channel, "/shelf put", values)
		keep(of("APIChatInputApplicationCommandInteraction"), asked, err)
		sent(t, s, http.MethodPost, "/interactions/"+asked.ID+"/interaction-token-"+asked.ID+"/callback", typedForm)
		form, err := asked.Form()
		require.NoError(t, err)
		filled, err := in.member.Submit(form, discordtest.Values{"name": "Ember"})
		keep(of("APIModalSubmitInteraction"), filled, err)
		completed := make(chan error, 1)
		go func() {
			_, err := in.member.Complete(in.channel, "/shelf put", discordtest.Values{"name": "em"}, "name")
			completed <- err
		}()
		keep(of("APIApplicationCommandAutocompleteInteraction"), nil, nil)
		sent(t, s, http.MethodPost, "/channels/"+in.channel.ID+"/messages", typedMessage)
		shown, _ := in.channel.Seen(orla.User, 1)
		for control, pick := range map[string][]string{"go": nil, "pick": {"1"}, "who": {orla.User.ID}, "where": {channel.ID}} {
			if in.member != orla && (control == "who" || control == "where") {
				continue // there is no list of members and channels to pick from
			}
			used, err := in.member.Use(shown[0].ID, control, pick...)
			kind := "APIMessageComponentSelectMenuInteraction"
			if control == "go" {
				kind = "APIMessageComponentButtonInteraction"
			}
			keep(of(kind), used, err)
		}
		require.ErrorIs(t, <-completed, discordtest.ErrUnanswered)
	}
	require.Equal(t, 12, n)
	check(t, file.Bytes())
}

// check compiles a file against the published types.
func check(t *testing.T, file []byte) {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "recorded.ts"), file, 0o600))
	for _, args := range [][]string{
		{"npm", "install", "--silent", "--no-audit", "--no-fund", "--no-package-lock", "discord-api-types@0.38.57", "typescript@5.9.3"},
		{filepath.Join(dir, "node_modules", ".bin", "tsc"), "--noEmit", "--strict", "--module", "node16", "--moduleResolution", "node16", "--target", "es2022", "recorded.ts"},
	} {
		run := exec.CommandContext(t.Context(), args[0], args[1:]...)
		run.Dir = dir
		out, err := run.CombinedOutput()
		require.NoError(t, err, string(out))
	}
}
