package page_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord/discordtest/page"
)

// TestOnlyThePageItselfIsServed: another name that leads here, and another site's page, get nothing and do nothing.
func TestOnlyThePageItselfIsServed(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	host := strings.TrimPrefix(b.url, "http://")
	port := host[strings.LastIndex(host, ":"):]
	for _, c := range []struct {
		method, path string
		headers      map[string]string
		want         int
	}{
		{"GET", "/", nil, 200},
		{"GET", "/", map[string]string{"Host": "localhost" + port}, 200},
		{"GET", "/", map[string]string{"Sec-Fetch-Site": "cross-site"}, 200},
		{"GET", "/", map[string]string{"Host": "rebound.example" + port}, 421},
		{"GET", "/", map[string]string{"Host": "127.0.0.1"}, 421},
		{"GET", "/state", map[string]string{"Host": "rebound.example" + port}, 421},
		{"GET", "/state", nil, 200},
		{"GET", "/state", map[string]string{"Sec-Fetch-Site": "cross-site"}, 403},
		{"GET", "/state", map[string]string{"Sec-Fetch-Site": "same-site"}, 403},
		{"GET", "/requests", map[string]string{"Origin": "http://other.example"}, 403},
		{"POST", "/member", nil, 403},
		{"POST", "/member", map[string]string{"Origin": "null"}, 403},
		{"POST", "/member", map[string]string{"Origin": "http://other.example"}, 403},
		{"POST", "/member", map[string]string{"Origin": "https://" + host}, 403},
		{"POST", "/member", map[string]string{"Origin": b.url, "Sec-Fetch-Site": "cross-site"}, 403},
		{"POST", "/member", map[string]string{"Origin": b.url}, 200},
		{"POST", "/member", map[string]string{"Origin": "http://localhost" + port}, 403},
		{"PUT", "/member", map[string]string{"Origin": b.url}, 405},
		{"GET", "/asset/page.html", nil, 404},
	} {
		headers := map[string]string{}
		for name, value := range c.headers {
			headers[name] = value
		}
		body, kind := parts(t, []string{"as", b.key(b.orla), "name", "Somebody else"}, "", nil)
		headers["Content-Type"] = kind
		resp, text := fetch(t, c.method, b.url+c.path, body, headers)
		require.Equal(t, c.want, resp.StatusCode, "%v: %s", c, text)
		require.Contains(t, resp.Header.Get("Content-Security-Policy"), "default-src 'none'")
		require.Equal(t, "nosniff", resp.Header.Get("X-Content-Type-Options"))
	}
	require.Len(t, b.guild.Members(), 4, "one was let in, once")
}

func TestThePageIsForThisMachineAlone(t *testing.T) {
	t.Parallel()
	for _, address := range []string{":0", "0.0.0.0:0", "192.0.2.1:80", "example.org:80", "nonsense", "[::]:0"} {
		_, err := page.Listen(t.Context(), address)
		require.ErrorContains(t, err, "no address of this machine alone", address)
	}
	open, err := page.Listen(t.Context(), "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { require.NoError(t, open.Close()) }()
	_, err = page.Listen(t.Context(), open.Addr().String())
	require.ErrorContains(t, err, "Give another address")
}

// TestWhatIsPrivateIsItsMembersAlone: message, file and form.
func TestWhatIsPrivateIsItsMembersAlone(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	require.Equal(t, 200, b.post(t, "/ask", b.orla, b.talk.ID, "request", "/shelf mine").Status)
	mine := b.awaitCard(t, b.orla, b.talk.ID, "A secret of Orla")
	require.Contains(t, mine.html(), "only you see this")
	require.Contains(t, mine.html(), "Orla asked /shelf mine")
	file := regexp.MustCompile(`href="(/file/[^"]+)"`).FindStringSubmatch(mine.html())[1]
	file = strings.ReplaceAll(file, "&amp;", "&")
	resp, text := fetch(t, "GET", b.url+file, nil, nil)
	require.Equal(t, "under the bench", text)
	require.Equal(t, "application/octet-stream", resp.Header.Get("Content-Type"))
	require.Equal(t, "attachment; filename=secret.txt", resp.Header.Get("Content-Disposition"))
	require.Contains(t, resp.Header.Get("Content-Security-Policy"), "sandbox")

	theirs := b.state(t, b.tam, b.talk.ID)
	require.NotContains(t, theirs.html(), "secret")
	require.Zero(t, theirs.Places[0].Count)
	resp, text = fetch(t, "GET", b.url+strings.ReplaceAll(file, b.key(b.orla), b.key(b.tam)), nil, nil)
	require.Equal(t, 404, resp.StatusCode)
	require.NotContains(t, text, "bench")

	require.Equal(t, 200, b.post(t, "/ask", b.orla, "direct", "request", "/shelf look", "f.at", "one").Status)
	require.NotContains(t, b.state(t, b.tam, "direct").html(), "This is")
	require.Equal(t, 422, b.post(t, "/press", b.tam, b.talk.ID, "message", mine.Cards[0].ID, "control", "any").Status)
}

// TestFormIsSentOnceByItsMember: and what the client holds back stays to be mended.
func TestFormIsSentOnceByItsMember(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	require.Equal(t, 200, b.post(t, "/ask", b.tam, b.talk.ID, "request", "/shelf put", "f.name", "Ember Late", "f.count", "3").Status)
	shown := b.awaitCard(t, b.tam, b.talk.ID, "3 of Ember Late stand there")
	control := regexp.MustCompile(`data-control="([^"]+)">Put more`).FindStringSubmatch(shown.html())[1]
	control = strings.ReplaceAll(control, "&#43;", "+")
	pressed := b.post(t, "/press", b.tam, b.talk.ID, "message", shown.Cards[0].ID, "control", control)
	require.NotNil(t, pressed.Form, "%+v", pressed)
	require.Equal(t, "/shelf put", pressed.Form.Title)
	require.Len(t, pressed.Form.Inputs, 3)
	fill := []string{"form", pressed.Form.ID, "f.name", "Frost Lantern", "f.count", "5", "f.note", "by the\r\ndoor"}
	require.Equal(t, 422, b.post(t, "/submit", b.orla, b.talk.ID, fill...).Status, "it is Tam's")
	held := b.post(t, "/submit", b.tam, b.talk.ID, "form", pressed.Form.ID, "f.count", "5")
	require.Equal(t, 422, held.Status)
	require.Contains(t, held.Note, "name")
	require.Equal(t, 200, b.post(t, "/submit", b.tam, b.talk.ID, fill...).Status)
	b.awaitCard(t, b.tam, b.talk.ID, "5 of Frost Lantern stand there")
	again := b.post(t, "/submit", b.tam, b.talk.ID, fill...)
	require.Equal(t, 422, again.Status)
	require.Contains(t, again.Note, "sent already")
}

func TestAskingCompletingAndFiles(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	offered := b.post(t, "/complete", b.ines, b.talk.ID, "request", "/shelf put", "focus", "name", "f.name", "em")
	require.Len(t, offered.Choices, 2, "%+v", offered)
	require.Equal(t, "Ember Late", offered.Choices[0].Value)
	require.Len(t, b.post(t, "/complete", b.ines, b.talk.ID, "request", "/shelf put", "focus", "name", "f.name", "").Choices, 3)
	for _, c := range []struct {
		says   string
		fields []string
	}{
		{"asks for count first", []string{"request", "/shelf put", "f.name", "x"}},
		{"does not go to 100", []string{"request", "/shelf put", "f.name", "x", "f.count", "100"}},
		{"has no field [colour]", []string{"request", "/shelf list", "f.colour", "x"}},
		{"no command /nothing", []string{"request", "/nothing"}},
		{"has no such thing", []string{"request", "/shelf give", "f.to", "Nobody"}},
		{"alone cannot be called", []string{"request", "/shelf"}},
	} {
		refused := b.post(t, "/ask", b.ines, b.talk.ID, c.fields...)
		require.Equal(t, 422, refused.Status)
		require.Contains(t, refused.Note, c.says)
	}
	body, kind := parts(t, []string{"as", b.key(b.ines), "in", b.talk.ID, "request", "/shelf read"}, "list.csv", []byte("a,b"))
	resp, text := fetch(t, "POST", b.url+"/ask", body, map[string]string{"Origin": b.url, "Content-Type": kind})
	require.Equal(t, 200, resp.StatusCode, text)
	b.awaitCard(t, b.tam, b.talk.ID, `list.csv says &#34;a,b&#34;`)
	require.Contains(t, b.state(t, b.tam, b.talk.ID).html(), "Ines asked /shelf read list: list.csv")

	require.Equal(t, 200, b.post(t, "/ask", b.ines, b.talk.ID, "request", "/shelf chart").Status)
	html := b.awaitCard(t, b.tam, b.talk.ID, `alt="a green field"`).html()
	picture := regexp.MustCompile(`img src="([^"]+)"`).FindStringSubmatch(html)[1]
	resp, text = fetch(t, "GET", b.url+picture, nil, nil)
	require.Equal(t, "image/png", resp.Header.Get("Content-Type"))
	require.Equal(t, string(drawing()), text)
	require.Empty(t, resp.Header.Get("Content-Disposition"))
	require.NotContains(t, html, "attachment://")
}

// TestWhatIsSentIsBounded: in number, and in size.
func TestWhatIsSentIsBounded(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	waited := make(chan told, 16)
	for range 16 {
		go func() { waited <- b.post(t, "/ask", b.orla, b.talk.ID, "request", "/shelf wait") }()
	}
	require.Eventually(t, func() bool {
		return b.post(t, "/right", b.tam, b.talk.ID, "manages", "no").Status == http.StatusServiceUnavailable
	}, within, 1e7)
	close(b.gate)
	for range 16 {
		<-waited
	}
	for _, size := range []int{11 << 20, 40 << 20} {
		body, kind := parts(t, []string{"as", b.key(b.ines), "in", b.talk.ID, "request", "/shelf read"}, "list.csv", make([]byte, size))
		resp, text := fetch(t, "POST", b.url+"/ask", body, map[string]string{"Origin": b.url, "Content-Type": kind})
		require.Equal(t, 422, resp.StatusCode)
		require.Contains(t, text, "MiB")
	}
}

func TestMembers(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	for _, name := range []string{"", "  ", strings.Repeat("x", 33), "tam", "a\x00b"} {
		require.Equal(t, 422, b.post(t, "/member", b.orla, "", "name", name).Status, name)
	}
	added := b.post(t, "/member", b.orla, "", "name", "  <b>Bo</b>  ")
	require.Equal(t, 200, added.Status)
	s := b.state(t, b.orla, "")
	require.Equal(t, "<b>Bo</b>", s.Members[3].Name)
	require.True(t, s.Members[0].Manages)
	require.Equal(t, 200, b.post(t, "/right", b.tam, "", "manages", "yes").Status)
	require.True(t, b.tam.Manages())
	require.Equal(t, 200, b.post(t, "/right", b.tam, "", "manages", "no").Status)
	require.False(t, b.tam.Manages())
	for len(b.guild.Members()) < 60 {
		b.guild.AddMember("One of many", 0)
	}
	require.Contains(t, b.post(t, "/member", b.orla, "", "name", "Late").Note, "room for 60")
}

// TestNothingSentBecomesMarkup: names, texts and files are shown as they are typed.
func TestNothingSentBecomesMarkup(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	nasty := `"><img src=x onerror=alert(1)><script>alert(1)</script>`
	require.Equal(t, 200, b.post(t, "/ask", b.orla, b.talk.ID, "request", "/shelf put", "f.name", nasty, "f.count", "1").Status)
	html := b.awaitCard(t, b.tam, b.talk.ID, "1 of ").html()
	require.NotContains(t, html, "<img")
	require.NotContains(t, html, "<script")
	require.Contains(t, html, "&lt;script&gt;")
}

// TestMarkup: what the platform would set in some way is set so here, and a backslash keeps a sign a sign.
func TestMarkup(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	for text, want := range map[string]string{
		"plain & <b>":                        "plain &amp; &lt;b&gt;",
		"**bold** and *slanted*":             "<b>bold</b> and <i>slanted</i>",
		`\*kept\* 2 * 3`:                     "*kept* 2 * 3",
		"**open":                             "**open",
		"see `code *x*`":                     "see <code>code *x*</code>",
		"```\na  b\n```":                     "<pre>a  b</pre>",
		"<@" + b.tam.User.ID + ">":           `<b class="named">@Tam</b>`,
		"<#" + b.talk.ID + ">":               `<b class="named">#general</b>`,
		"<@&1>":                              "@somebody or something unknown",
		"<t:1782000000:D>":                   `<time datetime="2026-06-21T00:00:00Z">`,
		"*slanted **and bold***":             "<i>slanted </i><b><i>and bold</i></b>",
		"\\<@\u200b" + b.tam.User.ID + "\\>": "&lt;@\u200b",
	} {
		b.talk.Say(text)
		s := b.state(t, b.orla, b.talk.ID)
		require.Contains(t, s.Cards[len(s.Cards)-1].HTML, want, text)
	}
}

// TestNotices: what is told of the bot's own accord is shown as sent, also in direct messages, and only there.
func TestNotices(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	channel := b.guild.Channels()[1]
	_, err := b.adapter.Deliver(t.Context(), channel.ID, b.guild.ID, "n-1", bot.Reply{Title: "This morning", Text: "Three jobs are due."}, b.tam.User.ID)
	require.NoError(t, err)
	html := b.awaitCard(t, b.orla, channel.ID, "Three jobs are due.").html()
	require.Contains(t, html, "of its own accord")
	require.Contains(t, html, "pings @Tam")
	_, err = b.adapter.Deliver(t.Context(), b.tam.User.Direct().ID, b.guild.ID, "n-2", bot.Reply{Text: "Yours are two."})
	require.NoError(t, err)
	b.awaitCard(t, b.tam, "direct", "Yours are two.")
	s := b.state(t, b.orla, "direct")
	require.Empty(t, s.Cards)
	require.Equal(t, 1, s.Members[1].Direct, "it is seen that Tam has been told something")
}

// TestWatching: nothing is answered while nothing changes, and what changes at once.
func TestWatching(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	before := b.state(t, b.orla, b.talk.ID)
	got := make(chan string, 1)
	go func() {
		_, text := fetch(t, "GET", b.url+"/state?as="+b.key(b.orla)+"&in="+b.talk.ID+"&stamp="+before.Stamp, nil, nil)
		got <- text
	}()
	b.talk.Say("Good morning")
	require.Contains(t, <-got, "Good morning")
	for range 120 {
		b.talk.Say("again")
	}
	s := b.state(t, b.orla, b.talk.ID)
	require.Len(t, s.Cards, 100)
	require.Equal(t, 21, s.Older)
	resp, _ := fetch(t, "GET", b.url+"/state?as=1.2", nil, nil)
	require.Equal(t, 422, resp.StatusCode)
}

func TestTimePasses(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	before := b.state(t, b.orla, "")
	require.Equal(t, "Mon 1 Mar 2027, 06:00", before.Time)
	for _, span := range []string{"hour", "day", "week"} {
		require.Equal(t, http.StatusOK, b.post(t, "/pass", b.orla, "", "span", span).Status)
	}
	after := b.state(t, b.orla, "")
	require.Equal(t, "Tue 9 Mar 2027, 07:00", after.Time)
	require.Equal(t, before.Stamp, after.Stamp, "time alone is no news")
	out := b.post(t, "/pass", b.orla, "", "span", "year")
	require.Equal(t, http.StatusUnprocessableEntity, out.Status)
	require.Equal(t, "That is no span of time. Press one of the buttons for it.", out.Note)
	b.post(t, "/ask", b.orla, b.talk.ID, "request", "/shelf mine")
	require.Contains(t, b.state(t, b.orla, b.talk.ID).html(), "2027-03-09T07:00:00Z")
}
