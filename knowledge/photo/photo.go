// Package photo makes a photo that came from anywhere fit to be kept: small, upright, and without what a camera wrote
// into it. Where it is kept it leaves to others.
package photo

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/draw"
	"golang.org/x/image/webp"

	"shortday/knowledge/fault"
)

// What a photo may have, and what is kept of it.
const (
	MostPixels = 24_000_000 // a telephone's have 12 million
	Longest    = 1600       // pixels, of the longer side of what is kept
	Thumbnail  = 320
	mostScans  = 40 // of a JPEG: each is worked through whole
	quality    = 82
)

// Photo is what is kept: two JPEGs with nothing but pixels in them, the longer side at most Longest and Thumbnail.
type Photo struct {
	Width, Height int // of Data
	Data, Small   []byte
}

// Read reads a JPEG, PNG or WebP by what is in it, whatever it is called. Its size is looked at before it is unpacked,
// and it is turned the way the camera was held. What cannot be kept is fault.Unclear.
func Read(data []byte) (Photo, error) {
	kind := kindOf(data)
	if kind.decode == nil {
		return Photo{}, fault.New(fault.Unclear, "This is %s. Send a photo as JPEG, PNG or WebP: %s", kind.what, kind.next)
	}
	size, err := kind.size(bytes.NewReader(data))
	switch {
	case err != nil || size.Width <= 0 || size.Height <= 0:
		return Photo{}, damaged(err)
	case size.Width > MostPixels/size.Height:
		return Photo{}, fault.New(fault.Unclear, "This photo has %d megapixels, and at most %d are read. Make it smaller, or send a screenshot of it.",
			(int64(size.Width)*int64(size.Height)+500_000)/1_000_000, MostPixels/1_000_000)
	}
	turn, scans := 1, 0
	if kind.what == "a JPEG" {
		turn, scans = walk(data)
	}
	if scans > mostScans {
		return Photo{}, fault.New(fault.Unclear, "This JPEG is built up in %d layers, which no camera does. Save it anew, or send a screenshot of it.", scans)
	}
	whole, err := kind.decode(bytes.NewReader(data))
	if err != nil {
		return Photo{}, damaged(err)
	}
	return kept(whole, turn)
}

func damaged(err error) error {
	return fault.New(fault.Unclear, "This photo is damaged: it cannot be read to its end. Send it again, or another one.").Because(err)
}

// kept gives what is kept of a photo: the large one is scaled from it, the small one from the large one.
func kept(whole image.Image, turn int) (Photo, error) {
	large := turned(scaled(whole, Longest), turn)
	small := scaled(large, Thumbnail)
	p := Photo{Width: large.Bounds().Dx(), Height: large.Bounds().Dy()}
	var err error
	if p.Data, err = encoded(large); err != nil {
		return Photo{}, err
	}
	p.Small, err = encoded(small)
	return p, err
}

func encoded(img image.Image) ([]byte, error) {
	var b bytes.Buffer
	err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality})
	return b.Bytes(), err
}

// scaled gives a picture of at most so many pixels on its longer side; what shone through is on white. A large one is
// halved as often as it can be, so that no line of it is passed over.
func scaled(from image.Image, longest int) *image.RGBA {
	w, h := from.Bounds().Dx(), from.Bounds().Dy()
	for max(w, h) >= 2*longest && min(w, h) >= 2 {
		w, h = w/2, h/2
		from = resized(from, w, h)
	}
	if long := max(w, h); long > longest {
		w, h = max(1, w*longest/long), max(1, h*longest/long)
	}
	return resized(from, w, h)
}

func resized(from image.Image, w, h int) *image.RGBA {
	to := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(to, to.Bounds(), image.White, image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(to, to.Bounds(), from, from.Bounds(), draw.Over, nil)
	return to
}

// turned turns a picture as EXIF's orientation says it has to be (1 to 8; 1 is upright).
func turned(from *image.RGBA, orientation int) *image.RGBA {
	if orientation <= 1 || orientation > 8 {
		return from
	}
	w, h := from.Bounds().Dx(), from.Bounds().Dy()
	to := image.NewRGBA(image.Rect(0, 0, w, h))
	if orientation >= 5 {
		to = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range h {
		for x := range w {
			u, v := x, y
			switch orientation {
			case 2:
				u = w - 1 - x
			case 3:
				u, v = w-1-x, h-1-y
			case 4:
				v = h - 1 - y
			case 5:
				u, v = y, x
			case 6:
				u, v = h-1-y, x
			case 7:
				u, v = h-1-y, w-1-x
			case 8:
				u, v = y, w-1-x
			}
			to.SetRGBA(u, v, from.RGBAAt(x, y))
		}
	}
	return to
}

// kind is what a file turned out to be; without decode it is no photo that is read.
type kind struct {
	what, next string
	size       func(*bytes.Reader) (image.Config, error)
	decode     func(*bytes.Reader) (image.Image, error)
}

const another = "most telephones and picture programs can save it so."

// kindOf tells what a file is by its first bytes.
func kindOf(data []byte) kind {
	has := func(at int, text string) bool {
		return len(data) >= at+len(text) && string(data[at:at+len(text)]) == text
	}
	switch {
	case has(0, "\xff\xd8\xff"):
		return kind{what: "a JPEG",
			size:   func(r *bytes.Reader) (image.Config, error) { return jpeg.DecodeConfig(r) },
			decode: func(r *bytes.Reader) (image.Image, error) { return jpeg.Decode(r) }}
	case has(0, "\x89PNG\r\n\x1a\n"):
		return kind{what: "a PNG",
			size:   func(r *bytes.Reader) (image.Config, error) { return png.DecodeConfig(r) },
			decode: func(r *bytes.Reader) (image.Image, error) { return png.Decode(r) }}
	case has(0, "RIFF") && has(8, "WEBP"):
		return kind{what: "a WebP",
			size:   webpSize,
			decode: func(r *bytes.Reader) (image.Image, error) { return webp.Decode(r) }}
	case has(4, "ftyphei"), has(4, "ftyphev"), has(4, "ftypmif1"), has(4, "ftypavif"):
		return kind{what: "a photo in a form (HEIC or AVIF) that is not read here", next: "telephones that take them have a setting for it, or share them as JPEG."}
	case has(4, "ftyp"), has(0, "\x1aE\xdf\xa3"):
		return kind{what: "a film", next: "a picture out of it will do."}
	case has(0, "GIF8"), has(0, "BM"), has(0, "II*\x00"), has(0, "MM\x00*"), has(0, "<svg"):
		return kind{what: "a picture in a form that is not read here", next: another}
	case has(0, "MZ"), has(0, "\x7fELF"), has(0, "#!"):
		return kind{what: "a program, whatever its name, and no photo", next: "nothing else is kept."}
	}
	return kind{what: "no photo that can be read", next: another}
}
