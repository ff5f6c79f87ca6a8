// Package lettering holds the typeface of papers and pictures, and tells what it can write. What is written it leaves to
// others.
package lettering

import (
	"slices"
	"sync"
	"unicode"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
)

// Regular and Bold give the typeface as TrueType files: DejaVu Sans Condensed, which is free to use and to embed.
func Regular() []byte { return dejavusanscondensed.TTF }

// Bold gives the heavier cut.
func Bold() []byte { return dejavusanscondensedbold.TTF }

var regular = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(dejavusanscondensed.TTF)
	if err != nil {
		panic(err) // it is part of the program
	}
	return f
})

// shaped are scripts whose letters join, stack or run from the right: the typeface may have them, yet without their
// shaping they would not be read.
var shaped = []*unicode.RangeTable{unicode.Arabic, unicode.Hebrew, unicode.Syriac, unicode.Thaana, unicode.Nko, unicode.Devanagari, unicode.Thai, unicode.Lao, unicode.Tibetan}

// lastSettable ends Unicode's first plane: the typeface has some signs beyond it, which no page can be set with.
const lastSettable = '\uffff'

// Writable gives a text as the typeface can write it. Where letters are lacking it gives, in place of the text, the name
// of their script in brackets, "(in Han letters)", and false: never empty boxes.
func Writable(text string) (string, bool) {
	text = norm.NFC.String(text)
	var buffer sfnt.Buffer
	for _, r := range text {
		glyph, err := regular().GlyphIndex(&buffer, r)
		if err != nil || glyph == 0 || r > lastSettable || unicode.In(r, shaped...) {
			return "(in " + script(r) + ")", false
		}
	}
	return text, true
}

func script(r rune) string {
	var names []string
	for name, table := range unicode.Scripts {
		if unicode.Is(table, r) && name != "Common" && name != "Inherited" {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return "signs that cannot be printed"
	}
	return slices.Min(names) + " letters"
}
