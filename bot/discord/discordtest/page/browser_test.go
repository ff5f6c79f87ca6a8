package page_test

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"shortday/bot"
	"shortday/bot/discord/discordtest"
)

var (
	inBrowser = flag.Bool("browser", false, "test the page in headless Chromium, which has to be installed")
	shots     = flag.String("shots", "", "with -browser, keep pictures of the page in this folder")
)

// tab is a page in a browser. What a script of it throws, or its policy forbids, fails the test.
type tab struct {
	*testing.T
	ctx context.Context
}

// patience bounds what a test of the page waits for; it is never waited out where all is well.
const patience = 3 * time.Minute

func browse(t *testing.T, b *bench) *tab {
	t.Helper()
	if !*inBrowser {
		t.Skip("The page is not tested in a browser: that needs Chromium and go test ./bot/discord/discordtest/page -browser.")
	}
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewExecAllocator(ctx,
		chromedp.UserDataDir(t.TempDir()), chromedp.NoSandbox, chromedp.Headless, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.WindowSize(1180, 900), chromedp.WSURLReadTimeout(patience))
	t.Cleanup(stop)
	var mu sync.Mutex
	var wrong []string
	ctx, end := chromedp.NewContext(ctx, chromedp.WithListener(func(event any) {
		mu.Lock()
		defer mu.Unlock()
		switch e := event.(type) {
		case *runtime.EventExceptionThrown:
			wrong = append(wrong, (&chromedp.ExceptionError{ExceptionDetails: e.ExceptionDetails}).Error())
		case *log.EventEntryAdded:
			if e.Entry.Source == log.EntrySourceSecurity || e.Entry.Source == log.EntrySourceJavascript {
				wrong = append(wrong, e.Entry.Text)
			}
		}
	}))
	t.Cleanup(end)
	t.Cleanup(func() {
		mu.Lock()
		defer mu.Unlock()
		require.Empty(t, wrong, "what went wrong in the page")
	})
	p := &tab{t, ctx}
	p.do(chromedp.Navigate(b.url))
	p.until(`document.body.dataset.requests > 0 && document.body.dataset.view`)
	return p
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	require.NoError(p, chromedp.Do(p.ctx, steps...))
}

// until waits until a condition holds in the page.
func (p *tab) until(condition string) {
	p.Helper()
	for {
		holds, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool]("Boolean("+condition+")"))
		if holds && err == nil {
			return
		}
		select {
		case <-p.ctx.Done():
			require.NoError(p, p.ctx.Err(), "%s (%v)", condition, err)
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// says waits until the conversation, and nothing else, has these words.
func (p *tab) says(words string) {
	p.Helper()
	p.until("document.getElementById('cards').textContent.includes(" + quote(words) + ")")
}

// click clicks what a selector finds as soon as it is there.
func (p *tab) click(selector string) {
	p.Helper()
	p.do(chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible))
}

// button clicks the last button with these words within something.
func (p *tab) button(within, words string) {
	p.Helper()
	find := "[...document.querySelectorAll(" + quote(within+" button") + ")].filter((b) => b.textContent === " + quote(words) + ")"
	p.until(find + ".length > 0")
	p.do(chromedp.Evaluate[chromedp.Void](find + ".at(-1).click()"))
}

// speak lets a member speak in a place, and waits until their view is shown.
func (p *tab) speak(b *bench, m *discordtest.Member, place string) {
	p.Helper()
	p.button("#speakers", m.User.Name)
	p.until("document.body.dataset.view.startsWith(" + quote(b.key(m)+" ") + ")")
	if place == "direct" {
		p.button("#places", "Direct to "+m.User.Name)
	} else {
		p.button("#places", place)
	}
	p.until("[...document.querySelectorAll('#places button')].find((b) => b.getAttribute('aria-pressed') === 'true').textContent.startsWith(" + quote(map[bool]string{true: "Direct", false: place}[place == "direct"]) + ")")
}

// request types a whole line and asks it.
func (p *tab) request(line string) {
	p.Helper()
	p.do(chromedp.Evaluate[chromedp.Void]("(() => { const box = document.getElementById('request'); box.value = " + quote(line) + "; box.dispatchEvent(new Event('input')); })()"))
	p.click("#send")
	p.until("document.getElementById('pending').children.length === 0")
}

func (p *tab) shot(name string) {
	p.Helper()
	if *shots == "" {
		return
	}
	png, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
	require.NoError(p, err)
	require.NoError(p, os.WriteFile(filepath.Join(*shots, name+".png"), png, 0o644))
}

func quote(text string) string {
	out := `"`
	for _, c := range text {
		if c == '"' || c == '\\' {
			out += `\`
		}
		out += string(c)
	}
	return out + `"`
}

// TestInTheBrowser goes through the page as somebody who tries it does.
func TestInTheBrowser(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	p := browse(t, b)

	// A request is found, its field completed, and answered.
	p.do(chromedp.SendKeys(chromedp.CSS("#request"), "/shelf p"))
	p.click("#request-offers li")
	p.until(`document.activeElement.id === "field-name"`)
	p.do(chromedp.SendKeys(chromedp.CSS("#field-name"), "emb"))
	p.until(`document.getElementById("field-name-offers").dataset.text === "emb"`)
	p.shot("completion")
	p.click("#field-name-offers li")
	p.do(chromedp.SendKeys(chromedp.CSS("#field-count"), "3"))
	p.click("#send")
	p.says("3 of Ember Late stand there.")
	p.says("Orla asked /shelf put name: Ember Late count: 3")
	p.until(`document.getElementById("request").value === ""`)

	// What the client holds back loses nothing.
	p.request(`/shelf put name: <b>x</b> count: 200`)
	p.until(`document.getElementById("note").textContent.includes("does not go to 200")`)
	p.until(`document.getElementById("field-name").value === "<b>x</b>"`)
	p.click("#clear")

	// A button opens a form; a form is filled in.
	p.button("#cards", "Put more")
	p.until(`document.getElementById("form").open`)
	p.do(chromedp.SendKeys(chromedp.CSS("#input0"), "Frost Lantern"), chromedp.SendKeys(chromedp.CSS("#input1"), "4"), chromedp.SendKeys(chromedp.CSS("#input2"), "<i>by</i> the door"))
	p.shot("form")
	p.click("#submit")
	p.says("4 of Frost Lantern stand there. <i>by</i> the door")
	p.until(`!document.getElementById("form").open`)

	// A menu.
	p.button("#cards", "Show all")
	p.until(`document.querySelector("#cards select")`)
	p.do(chromedp.Evaluate[chromedp.Void](`(() => { const m = document.querySelector("#cards select"); m.selectedIndex = 3; m.dispatchEvent(new Event("change", { bubbles: true })); })()`))
	p.says("This is the third.")

	// A picture, a file sent along, and a member chosen from a list.
	p.request("/shelf chart")
	p.until(`document.querySelector("#cards img")?.naturalWidth === 320`)
	list := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(list, []byte("a,b"), 0o600))
	p.do(chromedp.SendKeys(chromedp.CSS("#request"), "/shelf read"))
	p.click("#request-offers li")
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#field-list"), []string{list}))
	p.click("#send")
	p.says(`list.csv says "a,b".`)
	p.request("/shelf give to: Tam")
	p.says("Given.")

	// What is private is its member's alone, here and in direct messages.
	p.request("/shelf mine")
	p.says("A secret of Orla")
	p.shot("conversation")
	p.speak(b, b.tam, "#general")
	p.says("Given.")
	p.until(`!document.getElementById("cards").textContent.includes("secret")`)
	p.speak(b, b.orla, "direct")
	p.request("/shelf look at: the direct one")
	p.says("This is the the direct one.")
	p.speak(b, b.tam, "direct")
	p.until(`document.getElementById("cards").children.length === 0 && !document.getElementById("empty").hidden`)

	// A notice is seen where it came, and told of elsewhere.
	_, err := b.adapter.Deliver(t.Context(), b.ines.User.Direct().ID, b.guild.ID, "n-1", bot.Reply{Text: "Two jobs are yours."})
	require.NoError(t, err)
	p.until(`[...document.querySelectorAll("#speakers button")].some((s) => s.textContent === "Inesnew")`)
	p.do(chromedp.Evaluate[chromedp.Void](`[...document.querySelectorAll("#speakers button")].find((s) => s.textContent === "Inesnew").click()`))
	p.says("Two jobs are yours.")

	// Time passes as one likes.
	p.until(`document.getElementById("time").textContent === "Mon 1 Mar 2027, 06:00"`)
	p.click(`#spans [data-span="day"]`)
	p.until(`document.getElementById("time").textContent === "Tue 2 Mar 2027, 06:00"`)

	// Somebody new comes, and may manage.
	p.do(chromedp.SendKeys(chromedp.CSS("#name"), "Bo <b>"))
	p.click("#newcomer button")
	p.until(`document.getElementById("manager").textContent === "Bo <b> may manage the server" && !document.getElementById("manages").checked`)
	p.click("#manages")
	require.Eventually(t, func() bool { return b.guild.Members()[3].Manages() }, patience, 10*time.Millisecond)
}

// TestALateFormReplacesNothing: what was opened since stays, though the form that was asked for before comes.
func TestALateFormReplacesNothing(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	p := browse(t, b)
	p.request("/shelf put name: Ember count: 1")
	p.says("1 of Ember stand there.")
	// The button and what is opened next are one step of the page's script, so that the form cannot come before.
	p.do(chromedp.Evaluate[chromedp.Void](`(() => {
		[...document.querySelectorAll("#cards button")].find((b) => b.textContent === "Put more").click();
		const box = document.getElementById("request");
		box.value = "/shelf look";
		box.dispatchEvent(new Event("input"));
	})()`))
	p.until(`document.body.dataset.late === "1"`)
	p.until(`!document.getElementById("form").open && document.getElementById("request").value === "/shelf look"`)
	p.until(`document.getElementById("note").textContent.includes("came late")`)

	// The same where the other thing is a form, of somebody else.
	b.service.FailREST(discordtest.RESTFault{Method: "POST", Path: "/interactions/", Delay: 700 * time.Millisecond})
	p.do(chromedp.Evaluate[chromedp.Void](`(() => {
		[...document.querySelectorAll("#cards button")].find((b) => b.textContent === "Put more").click();
		[...document.querySelectorAll("#speakers button")].find((b) => b.textContent === "Tam").click();
	})()`))
	p.until("document.body.dataset.view.startsWith(" + quote(b.key(b.tam)+" ") + ")")
	p.until(`document.body.dataset.late === "2"`)
	p.until(`!document.getElementById("form").open`)
	p.button("#cards", "Put more")
	p.until(`document.getElementById("form").open`)
}

// TestOnATelephone: nothing is wider than the screen, and what is used can be reached.
func TestOnATelephone(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	p := browse(t, b)
	p.do(chromedp.EmulateViewport(390, 800, chromedp.EmulateScale(2), chromedp.EmulateMobile))
	p.request("/shelf put name: Ember_Late_with_a_very_long_name_that_is_never_broken_by_any_blank count: 3")
	p.says("stand there.")
	p.request("/shelf chart")
	p.until(`document.querySelector("#cards img")?.naturalWidth === 320`)
	p.button("#cards", "Show all")
	p.until(`document.querySelector("#cards select")`)
	p.shot("telephone")
	p.until(`document.documentElement.scrollWidth <= 390`)
	p.button("#cards", "Put more")
	p.until(`document.getElementById("form").open && document.getElementById("submit").getBoundingClientRect().bottom <= innerHeight`)
	p.shot("telephone-form")
	p.click("#close")
	p.do(chromedp.SendKeys(chromedp.CSS("#request"), "/"))
	p.until(`document.querySelectorAll("#request-offers li").length === 8`)
	p.shot("telephone-requests")
	p.until(`document.documentElement.scrollWidth <= 390 && document.getElementById("request").getBoundingClientRect().bottom <= innerHeight`)
}
