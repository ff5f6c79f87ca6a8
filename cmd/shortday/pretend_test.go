package main

import (
	"bytes"
	"encoding/json"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// rehearsed is what the page of a rehearsal shows.
type rehearsed struct {
	Server, As, In string
	Time           string
	Linked         bool
	Requests       string
	Members        []struct {
		Key, Name string
		Manages   bool
	}
	Places []struct{ Key, Name string }
	Cards  []struct{ HTML string }
}

var atAddress = regexp.MustCompile(`open at (http://127\.0\.0\.1:\d+)/`)

// rehearse starts a rehearsal and waits until it is open and answers.
func (s *serving) rehearse(t *testing.T, args ...string) (address string) {
	t.Helper()
	s.begin(t, append([]string{"serve", "--pretend"}, args...)...)
	require.Eventually(t, func() bool {
		found := atAddress.FindStringSubmatch(s.log.String())
		if found != nil {
			address = found[1]
		}
		return found != nil && s.look(t, address, "").Linked && bytes.Contains([]byte(s.log.String()), []byte("commands are registered"))
	}, within, 20*time.Millisecond, &s.log)
	return address
}

func (s *serving) look(t *testing.T, address, in string) (shown rehearsed) {
	t.Helper()
	resp, err := http.Get(address + "/state?in=" + in)
	require.NoError(t, err)
	defer func() { _ = resp.Body.Close() }()
	require.NoError(t, json.NewDecoder(resp.Body).Decode(&shown))
	return shown
}

// ask asks as the first member.
func (s *serving) ask(t *testing.T, address string, fields ...string) {
	t.Helper()
	s.post(t, address+"/ask", address, fields...)
}

// post does what the page would for the first member.
func (s *serving) post(t *testing.T, to, address string, fields ...string) {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	shown := s.look(t, address, "")
	for i, all := 0, append([]string{"as", shown.As, "in", shown.In}, fields...); i < len(all); i += 2 {
		require.NoError(t, w.WriteField(all[i], all[i+1]))
	}
	require.NoError(t, w.Close())
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, to, &body)
	require.NoError(t, err)
	r.Header.Set("Origin", address)
	r.Header.Set("Content-Type", w.FormDataContentType())
	resp, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer func() { _ = resp.Body.Close() }()
	text, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	require.Equal(t, 200, resp.StatusCode, string(text))
}

// TestPretend: without a token and without a register of one's own, the program answers on a page; nothing of it stays.
func TestPretend(t *testing.T) {
	t.Parallel()
	served := filepath.Join(t.TempDir(), "served.db")
	s := &serving{env: map[string]string{"SHORTDAY_DB": served}}
	address := s.rehearse(t)
	s.ask(t, address, "request", "/variety add", "f.name", "Ember Late", "f.season", "late")
	shown := s.look(t, address, "")
	require.Equal(t, "Our co-op", shown.Server)
	require.Len(t, shown.Members, 3)
	var all string
	require.Eventually(t, func() bool { // the greeting waits for nobody, and nobody for it
		all = ""
		for _, c := range s.look(t, address, "").Cards {
			all += c.HTML
		}
		return strings.Contains(all, "Good day, Our co-op")
	}, within, 20*time.Millisecond)
	require.Contains(t, all, "Orla asked /variety add name: Ember Late season: late")
	require.Zero(t, s.end())
	require.NotContains(t, s.log.String(), "Discord would refuse")
	_, err := os.Stat(served)
	require.ErrorIs(t, err, os.ErrNotExist, "the register that is served is left alone")
}

// TestPretendGoesOn: with --db the same server and its members are there again.
func TestPretendGoesOn(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "rehearsal.db")
	first := &serving{env: map[string]string{}}
	address := first.rehearse(t, "--db", path, "--coop", "Weir Lane Growers")
	first.ask(t, address, "request", "/variety add", "f.name", "Ember Late", "f.season", "late")
	first.ask(t, address, "request", "/stock add", "f.variety", "Ember Late", "f.count", "12", "f.stage", "boxed")
	before := first.look(t, address, "")
	require.Zero(t, first.end())

	second := &serving{env: map[string]string{}}
	address = second.rehearse(t, "--db", path, "--page", "127.0.0.1:0")
	after := second.look(t, address, "")
	require.Equal(t, "Weir Lane Growers", after.Server)
	require.Equal(t, before.As, after.As)
	require.Equal(t, before.Places, after.Places)
	second.ask(t, address, "request", "/stock list")
	after = second.look(t, address, "")
	require.Contains(t, after.Cards[len(after.Cards)-1].HTML, "Ember Late")
	require.NotContains(t, after.Cards[0].HTML, "Good day", "it is greeted once")
	require.Zero(t, second.end())
}

// TestPretendPlaysAnotherDay: time passes as one likes, and what falls due in it is told.
func TestPretendPlaysAnotherDay(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "rehearsal.db")
	s := &serving{env: map[string]string{}}
	address := s.rehearse(t, "--db", path, "--at", "2027-03-01T08:00:00Z")
	notices := s.look(t, address, "").Places[1].Key
	s.ask(t, address, "request", "/coop setup", "f.channel", notices, "f.zone", "Europe/Dublin", "f.times", "07:00", "f.place", "53.3,-6.3")
	s.ask(t, address, "request", "/variety add", "f.name", "Ember Late", "f.season", "late", "f.response", "10", "f.protection", "free")
	s.ask(t, address, "request", "/stock add", "f.variety", "Ember Late", "f.count", "12", "f.stage", "boxed", "f.since", "2026-11-20")
	s.ask(t, address, "request", "/target set", "f.variety", "Ember Late", "f.bloom", "2027-11-05", "f.stems", "40")
	require.Empty(t, s.look(t, address, notices).Cards)
	s.post(t, address+"/pass", address, "span", "day")
	var told string
	require.Eventually(t, func() bool {
		told = ""
		for _, card := range s.look(t, address, notices).Cards {
			told += card.HTML
		}
		return told != ""
	}, within, 20*time.Millisecond, &s.log)
	require.Contains(t, told, "Our co-op, Tue 2 Mar 2027")
	require.Contains(t, told, "of its own accord")
	require.Contains(t, told, `datetime="2027-03-02T08:0`)
	require.Zero(t, s.end())
	require.NotContains(t, s.log.String(), "level=ERROR")

	early := &serving{env: map[string]string{}}
	require.Equal(t, 1, early.run(t.Context(), "serve", "--pretend", "--db", path, "--at", "2027-03-01"))
	require.Contains(t, early.log.String(), "has come to 2027-03-02T08:0")
	later := &serving{env: map[string]string{}}
	address = later.rehearse(t, "--db", path)
	require.Contains(t, later.look(t, address, "").Time, "2 Mar 2027")
	require.Zero(t, later.end())
}

func TestPretendIsRefused(t *testing.T) {
	t.Parallel()
	for says, args := range map[string][]string{
		"only with --pretend":             {"--page", "127.0.0.1:0"},
		"no address of this machine":      {"--pretend", "--page", "0.0.0.0:80"},
		"cannot be served at 127.0.0.1:1": {"--pretend", "--page", "127.0.0.1:1"},
	} {
		if os.Geteuid() == 0 && args[len(args)-1] == "127.0.0.1:1" {
			continue // who may listen anywhere is not refused
		}
		s := &serving{env: map[string]string{}}
		require.Equal(t, 1, s.run(t.Context(), append([]string{"serve"}, args...)...), says)
		require.Contains(t, s.log.String(), says)
	}
}
