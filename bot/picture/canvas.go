// Package picture draws what a reply shows rather than tells, as PNG files of twice the usual density, on a light card
// that is read in light and dark surroundings alike. What is drawn it leaves to its caller.
package picture

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"sync"

	"git.sr.ht/~sbinet/gg"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"

	"shortday/bot/lettering"
)

// Type is the media type of what this package gives.
const Type = "image/png"

const (
	density = 2
	width   = 900 // of every picture, in units of which density make a pixel
	border  = 24
	body    = 13 // sizes of letters
	small   = 11
	heading = 18
)

// The colours of things are those of Okabe and Ito, "Color Universal Design" (2008), told apart by people of all kinds of
// colour vision; a shape or a word always goes with them.
var (
	card      = color.RGBA{0xfb, 0xfa, 0xf6, 0xff}
	ink       = color.RGBA{0x22, 0x26, 0x22, 0xff}
	faint     = color.RGBA{0x6b, 0x70, 0x6b, 0xff}
	hair      = color.RGBA{0xd9, 0xd8, 0xd0, 0xff}
	blue      = color.RGBA{0x00, 0x72, 0xb2, 0xff}
	sky       = color.RGBA{0x56, 0xb4, 0xe9, 0xff}
	green     = color.RGBA{0x00, 0x9e, 0x73, 0xff}
	vermilion = color.RGBA{0xd5, 0x5e, 0x00, 0xff}
	orange    = color.RGBA{0xe6, 0x9f, 0x00, 0xff}
	purple    = color.RGBA{0xcc, 0x79, 0xa7, 0xff}
	pale      = color.RGBA{0xf7, 0xf1, 0xb8, 0xff} // the yellow below, thinned
	yellow    = color.RGBA{0xf0, 0xe4, 0x42, 0xff}
)

// canvas draws in units, with the origin in the left upper corner.
type canvas struct {
	dc     *gg.Context
	height float64
}

func newCanvas(height float64) *canvas {
	c := &canvas{dc: gg.NewContext(width*density, int(math.Ceil(height))*density), height: height}
	c.dc.SetColor(card)
	c.dc.Clear()
	return c
}

func (c *canvas) png() ([]byte, error) {
	var out bytes.Buffer
	if err := c.dc.EncodePNG(&out); err != nil {
		return nil, fmt.Errorf("drawing: %w", err)
	}
	return out.Bytes(), nil
}

func (c *canvas) line(x1, y1, x2, y2, thick float64, of color.Color) {
	c.dc.SetColor(of)
	c.dc.SetLineWidth(thick * density)
	c.dc.DrawLine(x1*density, y1*density, x2*density, y2*density)
	c.dc.Stroke()
}

// dashed draws a line of dashes.
func (c *canvas) dashed(x1, y1, x2, y2, thick float64, of color.Color) {
	c.dc.SetDash(4*density, 3*density)
	c.line(x1, y1, x2, y2, thick, of)
	c.dc.SetDash()
}

func (c *canvas) box(x, y, w, h float64, of color.Color) {
	c.dc.SetColor(of)
	c.dc.DrawRectangle(x*density, y*density, w*density, h*density)
	c.dc.Fill()
}

// ring draws a circle: filled, or an outline on the card.
func (c *canvas) ring(x, y, r float64, filled bool, of color.Color) {
	c.dc.DrawCircle(x*density, y*density, r*density)
	if filled {
		c.dc.SetColor(of)
		c.dc.Fill()
		return
	}
	c.dc.SetColor(card)
	c.dc.FillPreserve()
	c.dc.SetColor(of)
	c.dc.SetLineWidth(1.6 * density)
	c.dc.Stroke()
}

// bloom draws a small flower of eight petals.
func (c *canvas) bloom(x, y, r float64, filled bool, of color.Color) {
	for i := range 8 {
		turn := float64(i) * math.Pi / 4
		c.ring(x+r*math.Cos(turn)*0.75, y+r*math.Sin(turn)*0.75, r*0.42, true, of)
	}
	middle := card
	if filled {
		middle = ink
	}
	c.ring(x, y, r*0.4, true, middle)
}

// path draws a line through points.
func (c *canvas) path(xs, ys []float64, thick float64, of color.Color) {
	c.dc.SetColor(of)
	c.dc.SetLineWidth(thick * density)
	for i := range xs {
		c.dc.LineTo(xs[i]*density, ys[i]*density)
	}
	c.dc.Stroke()
}

// Where a text stands beside the point it is written at.
const (
	left   = 0.0
	middle = 0.5
	right  = 1.0
)

// text writes one line whose middle height is y.
func (c *canvas) text(x, y, size, align float64, bold bool, of color.Color, words string) {
	shown, _ := lettering.Writable(words)
	c.dc.SetColor(of)
	c.dc.SetFontFace(face(size, bold))
	c.dc.DrawStringAnchored(shown, x*density, y*density, align, 0.36)
}

// wide tells how wide a text is.
func (c *canvas) wide(size float64, bold bool, words string) float64 {
	shown, _ := lettering.Writable(words)
	c.dc.SetFontFace(face(size, bold))
	w, _ := c.dc.MeasureString(shown)
	return w / density
}

// wrapped gives a text in lines of at most a width.
func (c *canvas) wrapped(size float64, bold bool, words string, most float64) []string {
	shown, _ := lettering.Writable(words)
	c.dc.SetFontFace(face(size, bold))
	var lines []string
	for _, line := range c.dc.WordWrap(shown, most*density) {
		for c.wide(size, bold, line) > most {
			cut := len([]rune(line)) - 1
			for cut > 1 && c.wide(size, bold, string([]rune(line)[:cut])) > most {
				cut--
			}
			lines, line = append(lines, string([]rune(line)[:cut])), string([]rune(line)[cut:])
		}
		lines = append(lines, line)
	}
	return lines
}

// head writes title and note, and gives where what is under them begins.
func (c *canvas) head(title, note string) float64 {
	y := float64(border)
	for _, line := range c.wrapped(heading, true, title, width-2*border) {
		c.text(border, y, heading, left, true, ink, line)
		y += heading * 1.35
	}
	for _, line := range c.wrapped(body, false, note, width-2*border) {
		c.text(border, y, body, left, false, faint, line)
		y += body * 1.4
	}
	return y + 8
}

// headHeight is how much room head takes.
func headHeight(title, note string) float64 { return newCanvas(1).head(title, note) }

var faces = sync.OnceValue(func() [2]*opentype.Font {
	var cuts [2]*opentype.Font
	for i, data := range [][]byte{lettering.Regular(), lettering.Bold()} {
		parsed, err := opentype.Parse(data)
		if err != nil {
			panic(err) // it is part of the program
		}
		cuts[i] = parsed
	}
	return cuts
})

func face(size float64, bold bool) font.Face {
	cut := faces()[0]
	if bold {
		cut = faces()[1]
	}
	f, err := opentype.NewFace(cut, &opentype.FaceOptions{Size: size * density, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		panic(err) // the size is ours
	}
	return f
}
