package requests_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/bot"
)

// carried are the lists that a member takes along, by name, in the order in which they are brought back.
func (s *lister) carried(coop string) (names []string, files map[string]bot.File) {
	files = map[string]bot.File{}
	for _, request := range []string{"/variety list file:yes", "/target list file:yes", "/note list file:yes"} {
		for _, f := range s.ask(coop, request, "", nil).Files {
			names, files[f.Name] = append(names, f.Name), f
		}
	}
	return names, files
}

// brings shows a list and enters it where there is anything to enter.
func (s *lister) brings(coop string, f bot.File) bot.Reply {
	shown := s.ask(coop, "/stock add", "file", &f)
	if len(shown.Next) > 0 {
		s.ask(coop, shown.Next[0].Request, "", nil)
	}
	return shown
}

// Every list that is written changes nothing when it is brought back, and gives the very same list in another co-op.
func TestWrittenListsReadBack(t *testing.T) {
	t.Parallel()
	s, n := newLister(t), 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		here, there := fmt.Sprint("here ", n), fmt.Sprint("there ", n)
		for _, coop := range []string{here, there} {
			s.ask(coop, "/grower place place:53.1,-6.7 zone:Europe/Dublin cover:yes", "", nil)
		}
		pick := func(what string, of ...string) string { return rapid.SampledFrom(of).Draw(t, what) }
		for _, name := range []string{"Saltmarsh", "=Tide", "Île d'Or"}[:rapid.IntRange(1, 3).Draw(t, "varieties")] {
			quoted := fmt.Sprintf("%q", name)
			s.ask(here, "/variety add name:"+quoted+` like:"late spray"`+pick("more", "", " section:9d", " us-class:9", ` colour:"-pale, 'gold'"`, ` natural:"3 nov" natural-at:51.5`,
				" bud-hours:14 flower-hours:13.25", " stops:2 kept:6 shoots:7.5", ` protection:protected until:2031-02-01`, ` licence:"A 12"`, " response:9.5"), "", nil)
			if pick("stop", "", "yes") != "" {
				s.ask(here, "/variety stops variety:"+quoted+` on:"5 jun" bloom:"8 nov" at:52.1`+pick("source", "", ` source:"@ key"`)+pick("own", "", " own:yes", " response:8"), "", nil)
			}
			if pick("target", "", "yes") != "" {
				s.ask(here, "/target set variety:"+quoted+" bloom:2027-11-0"+pick("day", "2", "5", "8")+pick("until", "", " until:2027-11-09")+pick("stems", "", " stems:40")+pick("way", "", " way:natural"), "", nil)
			}
			if pick("note", "", "yes") != "" {
				s.ask(here, "/note add variety:"+quoted+" on:2027-02-1"+pick("noted", "1", "2")+` note:"`+pick("words", "plain", "=1+1", "'quoted'; and, more", "+- @x")+`"`+pick("spot", "", ` spot:"bench 2"`)+pick("share", "", " share:yes"), "", nil)
			}
			if pick("bloom", "", "yes") != "" {
				s.ask(here, "/note bloomed variety:"+quoted+pick("first", "", " first:2026-10-29")+" full:2026-11-04"+pick("seen", "", " stems:38")+pick("said", "", ` note:"=good"`), "", nil)
				s.ask(here, "/note picked variety:"+quoted+" stems:7 on:2026-11-06", "", nil)
			}
		}
		names, files := s.carried(here)
		for _, name := range names {
			if name == "dates.csv" {
				continue
			}
			shown := s.brings(here, files[name])
			require.Empty(t, shown.Next, "%s: %v", name, shown.Rows)
			shown = s.brings(there, files[name])
			require.NotEmpty(t, shown.Next, "%s: %s %v", name, shown.Text, shown.Rows)
			require.NotContains(t, shown.Text, "not understood", "%s: %v", name, shown.Rows)
		}
		again, copies := s.carried(there)
		require.Equal(t, names, again)
		for _, name := range slices.Sorted(maps.Keys(files)) {
			require.Equal(t, string(files[name].Data), string(copies[name].Data), name)
		}
	})
}

// No cell of what is written is reckoned by a spreadsheet.
func TestWrittenListsHoldNoFormula(t *testing.T) {
	t.Parallel()
	s := newLister(t)
	s.ask("lane", `/variety add name:"=cmd|'/C x'!A1" like:"late spray" colour:"+bronze"`, "", nil)
	s.ask("lane", `/variety stops variety:"=cmd|'/C x'!A1" on:"5 jun" at:-43.5 source:"@key"`, "", nil)
	s.ask("lane", `/note add note:"=HYPERLINK(1)" spot:"-bench"`, "", nil)
	s.ask("lane", `/note bloomed variety:"=cmd|'/C x'!A1" full:2026-11-04 note:"+1"`, "", nil)
	_, files := s.carried("lane")
	require.Len(t, files, 4)
	for name, f := range files {
		rows := strings.Split(strings.TrimSuffix(string(f.Data), "\r\n"), "\r\n")
		require.Len(t, rows, 2, name)
		require.NotRegexp(t, `(^|,)"?[=+@-]`, rows[1], name)
		require.Contains(t, rows[1], "'", name)
	}
}

// BenchmarkNotesOf10000 brings a long diary along.
func BenchmarkNotesOf10000(b *testing.B) {
	s := newLister(b)
	for i := 0; b.Loop(); i++ {
		var rows []string
		for k := range 10_000 {
			rows = append(rows, fmt.Sprintf("2026-0%d-1%d,%q,bench %d", 1+k%9, k%10, fmt.Sprint("seen ", k), k%40))
		}
		s.brings(fmt.Sprint("co-op ", i), *csvFile("on,note,spot", rows))
	}
}
