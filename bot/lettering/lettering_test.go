package lettering_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/bot/lettering"
)

func TestWritable(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"Saltmarsh": "Saltmarsh", "Ёлка белая": "Ёлка белая", "Łąka, Đồng, Ångström": "Łąka, Đồng, Ångström", "Αγάπη": "Αγάπη", "e\u0301te\u0301": "été",
		"": "", "日本の菊": "(in Han letters)", "Gilt 菊": "(in Han letters)", "شمس": "(in Arabic letters)", "שמש": "(in Hebrew letters)",
		"Gold 🌼": "(in signs that cannot be printed)", "한글": "(in Hangul letters)",
		"Sunny 😀": "(in signs that cannot be printed)", "𝔸mber": "(in signs that cannot be printed)",
	} {
		got, whole := lettering.Writable(text)
		require.Equal(t, want, got, text)
		require.Equal(t, want[:min(1, len(want))] != "(", whole, text)
	}
}
