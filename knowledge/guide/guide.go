// Package guide holds the handbook: short texts on the work of the year, each with its sources and cautions. How they are
// searched it leaves to the register, and the asker's own dates to the requests.
package guide

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"strings"
	"sync"

	"shortday/knowledge/crop"
)

//go:embed texts/*.md
var texts embed.FS

// Text is one topic of the handbook. Paragraphs are plain, without markup.
type Text struct {
	Key      string // its topic, as in /guide hardening-off
	Title    string
	Also     []string    // other words by which people ask for it
	Steps    []crop.Kind // the steps of the year that it is about
	Short    string      // the answer in a paragraph
	More     []string    // paragraphs
	Sources  []string
	Cautions []string
}

// Texts gives the whole handbook, by key, in the word for taking out the tip that a co-op uses: "stop", or "pinch".
func Texts(pinch bool) []Text {
	if pinch {
		return pinching()
	}
	return stopping()
}

// Each is read once.
var (
	stopping = sync.OnceValue(func() []Text { return read(strings.NewReplacer("{", "", "}", "")) })
	pinching = sync.OnceValue(func() []Text {
		return read(strings.NewReplacer("{stop}", "pinch", "{stopped}", "pinched", "{Stopping}", "Pinching"))
	})
)

func read(word *strings.Replacer) []Text {
	files, err := texts.ReadDir("texts")
	if err != nil {
		panic(err) // they are embedded
	}
	all := make([]Text, len(files))
	for i, file := range files {
		raw, err := texts.ReadFile("texts/" + file.Name())
		if err != nil {
			panic(err) // it was listed
		}
		if all[i], err = parse(strings.TrimSuffix(file.Name(), ".md"), word.Replace(string(raw))); err != nil {
			panic(fmt.Errorf("guide: %s: %w", file.Name(), err))
		}
	}
	return all
}

// Topic gives the text of a key; "black out" and "Black-Out" name "black-out" too.
func Topic(name string, pinch bool) (Text, bool) {
	key := strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '-' }), "-")
	for _, t := range Texts(pinch) {
		if t.Key == key {
			return t, true
		}
	}
	return Text{}, false
}

// Digest changes whenever a text does.
var Digest = sync.OnceValue(func() string {
	sum := sha256.New()
	for _, t := range Texts(false) {
		_, _ = fmt.Fprintf(sum, "%q\n", t)
	}
	return hex.EncodeToString(sum.Sum(nil))
})
