package variety_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

func TestCleanName(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"  Amber   Lane ": "Amber Lane", "Cafe\u0301 No\u00A02": "Café No 2", "琥珀の小道": "琥珀の小道", "Ambre 🌼": "Ambre 🌼",
		"7": "7", strings.Repeat("ü", 60): strings.Repeat("ü", 60), strings.Repeat("x\u0323", 60): strings.Repeat("x\u0323", 60),
		"**bold** `x` @everyone": "**bold** `x` @everyone", // data: the adapters quote it
	} {
		got, err := variety.CleanName(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got)
	}
	for text, part := range map[string]string{
		"": "empty", " \t\n": "empty", strings.Repeat("x", 61): "61 characters", strings.Repeat("界", 61): "61 characters",
		"x" + strings.Repeat("\u0323", 130): "more accents", "a\nb": "cannot be seen", "a\tb": "cannot be seen", "a\u2028b": "cannot be seen",
		"a\u202Eb": "cannot be seen", "a\u200Bb": "cannot be seen", "a\u200Db": "cannot be seen", "\uFEFFa": "cannot be seen", "a\x00": "cannot be seen",
		"\u3164": "cannot be seen", "\u2800": "cannot be seen", "a\u2066b": "cannot be seen", "\uE000": "cannot be seen", "\xff": "not readable", "\u0301a": "begins with",
	} {
		_, err := variety.CleanName(text)
		require.ErrorContains(t, err, part, "%q", text)
		require.Equal(t, fault.Unclear, fault.KindOf(err))
	}
}

func TestFitName(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"Oona 👩\u200d🌾": "Oona 👩🌾", "  Weir\n Lane ": "Weir Lane", "a\u202Eb\x00": "ab", "\u0301 \u0301a": "a", "\u200b\u2800": "whoever", "": "whoever",
		strings.Repeat("Growers ", 12): strings.TrimSpace(strings.Repeat("Growers ", 7) + "Grow"), "x" + strings.Repeat("\u0323", 99) + "y": "x" + strings.Repeat("\u0323", 4) + "y",
	} {
		require.Equal(t, want, variety.FitName(text, "whoever"), "%q", text)
	}
	rapid.Check(t, func(t *rapid.T) {
		name := variety.FitName(rapid.String().Draw(t, "text"), "whoever")
		clean, err := variety.CleanName(name)
		require.NoError(t, err)
		require.Equal(t, name, clean)
	})
}

func FuzzCleanName(f *testing.F) {
	for _, seed := range []string{"Amber Lane", " Cafe\u0301 ", "a\u202Eb", "\u2001x", "क़", "\u0958", "が", "ﬀ ŉ", "İı", "\u1160", "x\u0345\u0323"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		require.Equal(t, variety.Fold(text), variety.Fold(variety.Fold(text)), "folding twice")
		name, err := variety.CleanName(text)
		if err != nil {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			return
		}
		again, err := variety.CleanName(name)
		require.NoError(t, err)
		require.Equal(t, name, again)
		require.LessOrEqual(t, utf8.RuneCountInString(name), 2*variety.MaxName)
		require.False(t, strings.ContainsFunc(name, func(r rune) bool { return unicode.In(r, unicode.C, unicode.Zl, unicode.Zp) }))
	})
}

func TestFold(t *testing.T) {
	t.Parallel()
	for a, b := range map[string]string{
		"Café  Crème": "cafe creme", "STRASSE": "straße", "Ørsted": "orsted", "Łódź": "lodz", "Ｎｏ１": "no1", "ᏸ": "Ᏸ", "ꮘ": "Ꮘ", "O’Hara": "O'Hara",
		"Éclair–Rose": "eclair-rose", "ΣΊΣΥΦΟΣ": "σισυφος", "ｶﾞ": "ガ",
	} {
		require.Equal(t, variety.Fold(b), variety.Fold(a), a)
	}
	for a, b := range map[string]string{"カ": "ガ", "Amber 1": "Amber 2", "कि": "की"} {
		require.NotEqual(t, variety.Fold(a), variety.Fold(b))
	}
}

func TestNear(t *testing.T) {
	t.Parallel()
	among := []string{"Amber Lane", "Ambre Lane", "Copper Amber", "Émeraude", "Snowdrift", "Ambergate"}
	for _, c := range []struct {
		name  string
		limit int
		want  []string
	}{
		{"amber", 5, []string{"Amber Lane", "Ambergate", "Copper Amber"}},
		{"ambre lane", 5, []string{"Ambre Lane", "Amber Lane"}},
		{"AMBER LANE", 1, []string{"Amber Lane"}},
		{"emerode", 5, []string{}},
		{"emeraud", 5, []string{"Émeraude"}},
		{"snowdirft", 5, []string{"Snowdrift"}},
		{"zz", 5, []string{}},
		{"", 2, []string{"Amber Lane", "Ambergate"}},
		{"amber", 0, []string{}},
		{"amber", -1, []string{}},
	} {
		require.Equal(t, c.want, variety.Near(c.name, among, c.limit), "%q", c.name)
	}
}

func TestNearFindsOneSlip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[a-z]{4,20}`).Draw(t, "name")
		at := rapid.IntRange(0, len(name)-1).Draw(t, "at")
		slip := rapid.StringMatching(`[a-z]?`).Draw(t, "letter")
		typed := name[:at] + slip + name[at+1:]
		require.Equal(t, []string{name}, variety.Near(typed, []string{name}, 1))
	})
}

func BenchmarkNear(b *testing.B) {
	among := make([]string, 1000)
	for i := range among {
		among[i] = fmt.Sprintf("Amber Lane %d", i)
	}
	for b.Loop() {
		variety.Near("ambre lane 77", among, 25)
	}
}

func BenchmarkFold(b *testing.B) {
	for b.Loop() {
		variety.Fold("Café Crème")
	}
}
