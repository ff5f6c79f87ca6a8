package paper_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/paper"
)

var (
	keep  = flag.String("keep", "", "a folder in which to leave the pages, to look at")
	pages = flag.Bool("pages", false, "read the pages back by pdftotext (poppler-utils)")
)

var at = time.Date(2027, time.March, 1, 7, 0, 0, 0, time.UTC)

func labels(n int) []paper.Label {
	names := []string{"Saltmarsh", "Ninepence", "The Very Long Name of a Variety That Somebody's Great-Aunt Kept", "Ёлка", "日本の菊", "Sunny 😀", "Ångström's Pride", strings.Repeat("W", 60)}
	all := make([]paper.Label, n)
	for i := range all {
		all[i] = paper.Label{Name: names[i%len(names)], Mark: fmt.Sprintf("27-%d", i+1), Below: "2027, 12 boxed"}
	}
	return all
}

func list(rows int) paper.List {
	l := paper.List{Title: "Oona, Tallow Lane Growers: the season of 2027", Note: "Reckoned on Mon 1 Mar 2027. " + strings.Repeat("What was done moves what follows. ", 4),
		Columns: []paper.Column{{Head: "day", Share: .2}, {Head: "job", Share: .25}, {Head: "variety", Share: .25}, {Head: "between", Share: .3}}, Pencil: "done"}
	for month := range 4 {
		g := paper.Group{Head: fmt.Sprintf("Month %d", month)}
		for i := range rows / 4 {
			g.Rows = append(g.Rows, []string{"Mon 31 May 2027", "stop", []string{"Saltmarsh", "日本の菊", strings.Repeat("W", 60)}[i%3], "28 May – 3 Jun, at the latest Wed 30 Jun 2027"})
		}
		l.Groups = append(l.Groups, g)
	}
	return l
}

func check(t *testing.T, name string, data []byte, holds ...string) {
	t.Helper()
	require.True(t, bytes.HasPrefix(data, []byte("%PDF-1.")), name)
	require.True(t, bytes.HasSuffix(bytes.TrimSpace(data), []byte("%%EOF")), name)
	if *keep != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*keep, name+".pdf"), data, 0o600))
	}
	if !*pages {
		return
	}
	read := exec.CommandContext(t.Context(), "pdftotext", "-layout", "-", "-")
	read.Stdin = bytes.NewReader(data)
	out, err := read.Output()
	require.NoError(t, err)
	for _, want := range holds {
		require.Contains(t, string(out), want, name)
	}
}

func TestLabels(t *testing.T) {
	t.Parallel()
	for _, sheet := range []paper.Sheet{paper.A4, paper.Letter} {
		for _, size := range paper.Sizes() {
			data, err := paper.Labels(labels(40), size, sheet, at)
			require.NoError(t, err)
			check(t, "labels-"+size.Name+"-"+string(sheet), data, "Saltmarsh", "27-40", "(in Han letters)", "Ёлка")
			again, err := paper.Labels(labels(40), size, sheet, at)
			require.NoError(t, err)
			require.True(t, bytes.Equal(data, again), "the same labels are the same file")
		}
	}
	_, err := paper.Labels(labels(paper.MostLabels+1), paper.Sizes()[0], paper.A4, at)
	require.ErrorContains(t, err, "1000")
}

func TestList(t *testing.T) {
	t.Parallel()
	data, err := list(120).Set(paper.A4, at)
	require.NoError(t, err)
	check(t, "list", data, "Month 3", "Page 2 of", "(in Han letters)", "the season of 2027")
	named := list(4)
	named.Title, named.Groups[0].Rows[0][2] = "Oona {nb}", "{nb} of all"
	data, err = named.Set(paper.A4, at)
	require.NoError(t, err)
	check(t, "named", data, "Oona {nb}", "{nb} of all", "Page 1 of 1")
	data, err = list(0).Set(paper.Letter, at)
	require.NoError(t, err)
	check(t, "empty", data, "Page 1 of 1")
}

func BenchmarkLabels(b *testing.B) {
	all := labels(100)
	b.ReportAllocs()
	for b.Loop() {
		data, err := paper.Labels(all, paper.Sizes()[0], paper.A4, at)
		require.NoError(b, err)
		b.SetBytes(int64(len(data)))
	}
}

func BenchmarkList(b *testing.B) {
	l := list(120)
	b.ReportAllocs()
	for b.Loop() {
		data, err := l.Set(paper.A4, at)
		require.NoError(b, err)
		b.SetBytes(int64(len(data)))
	}
}
