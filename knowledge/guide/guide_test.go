package guide_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/guide"
)

// A short answer with its cautions and a few own days has to stand in one message.
func TestTexts(t *testing.T) {
	t.Parallel()
	all := guide.Texts(false)
	require.GreaterOrEqual(t, len(all), 20)
	seen := map[string]bool{}
	for _, text := range all {
		require.False(t, seen[text.Title], text.Title)
		seen[text.Title] = true
		short := utf8.RuneCountInString(text.Short)
		require.True(t, short > 60 && short < 500, "%s: %d characters", text.Key, short)
		for _, p := range append([]string{text.Short}, text.More...) {
			require.False(t, strings.HasPrefix(p, "#") || strings.HasPrefix(p, "- ") || strings.ContainsAny(p, "*`_"), "%s: markup in %q", text.Key, p)
		}
		for _, s := range append(text.Sources, text.Cautions...) {
			require.NotEmpty(t, s)
		}
	}
}

// The subjects that the handbook has to cover.
func TestSubjects(t *testing.T) {
	t.Parallel()
	for _, key := range []string{"lifting", "winter-store", "waking", "cuttings", "rooting", "potting", "hardening-off", "planting", "stopping",
		"buds", "disbudding", "securing", "housing", "black-out", "night-break", "watering", "feeding", "picking", "health", "sharing", "labels"} {
		_, ok := guide.Topic(key, false)
		require.True(t, ok, key)
	}
	text, ok := guide.Topic("Black out", true)
	require.True(t, ok)
	require.Equal(t, "black-out", text.Key)
	_, ok = guide.Topic("", false)
	require.False(t, ok)
}

// A co-op that says "pinch" reads it wherever the tip is meant, and no mark of it is left.
func TestPinch(t *testing.T) {
	t.Parallel()
	for _, pinch := range []bool{false, true} {
		for _, text := range guide.Texts(pinch) {
			require.NotContains(t, text.Title+text.Short+strings.Join(text.More, " "), "{", text.Key)
		}
	}
	text, _ := guide.Topic("stopping", true)
	require.Equal(t, "Pinching, and why its date matters", text.Title)
	require.Contains(t, text.Short, "To pinch a plant")
	text, _ = guide.Topic("feeding", true)
	require.Contains(t, text.Short, "and stop when the buds show colour")
}

// Where work can hurt someone the text says so; no text gives a rate.
func TestCautions(t *testing.T) {
	t.Parallel()
	for key, word := range map[string]string{"cuttings": "gloves", "night-break": "electrician", "waking": "electrician", "health": "authority",
		"sharing": "licence", "picking": "cats and dogs", "disbudding": "gloves"} {
		text, ok := guide.Topic(key, false)
		require.True(t, ok)
		require.Contains(t, strings.Join(text.Cautions, " "), word, key)
	}
	for _, text := range guide.Texts(false) {
		whole := strings.ToLower(text.Short + strings.Join(text.More, " "))
		for _, rate := range []string{"ml per", "g per", "per litre", "ppm", "per gallon"} {
			require.NotContains(t, whole, rate, text.Key)
		}
	}
}

func TestWords(t *testing.T) {
	t.Parallel()
	require.Equal(t, []string{"stop", "lates"}, guide.Words("When should I STOP my lates? (stop!)"))
	require.Empty(t, guide.Words("what is it, and why?"))
	require.Equal(t, []string{"black"}, guide.Words(`"black" OR NEAR(`)[:1])
	require.Empty(t, guide.Words("  \x00 * ^ \" ' "))
}

func TestMeant(t *testing.T) {
	t.Parallel()
	vocabulary := []string{"cuttings", "cutting", "disbud", "feed", "rooting", "stopping", "water"}
	for typed, want := range map[string]string{"stoping": "stopping", "cutings": "cuttings", "watr": "water", "rotting": "rooting", "dsbud": "disbud",
		"car": "", "france": "", "roses": "", "hosting": "", "": "", "fe": ""} {
		require.Equal(t, want, guide.Meant(typed, vocabulary), typed)
	}
}

func FuzzWords(f *testing.F) {
	f.Add("How do I stop \"Saltmarsh\"?")
	f.Add("NEAR(a b) AND title:x*")
	f.Fuzz(func(t *testing.T, question string) {
		for _, word := range guide.Words(question) {
			require.NotEmpty(t, word)
			require.NotContains(t, word, `"`)
			require.NotContains(t, word, " ")
		}
	})
}
