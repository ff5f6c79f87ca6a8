package bottest

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"

	"github.com/rogpeppe/go-internal/testscript"
)

// exif holds an orientation of 1 and, after it, words that no reader looks at and that must not be kept.
const exif = "\xff\xe1\x00\x2fExif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x01\x00\x00\x00\x00\x00\x00GPS 53.1,-6.7"

// photo makes a photo, since a script holds only text.
func (s *stage) photo(ts *testscript.TestScript, args []string) error {
	var w, h int
	if len(args) != 2 {
		return errors.New("photo takes a file and a size, as in: photo bench.jpg 1200x900")
	}
	if _, err := fmt.Sscanf(args[1], "%dx%d", &w, &h); err != nil {
		return fmt.Errorf("%q is no size such as 1200x900", args[1])
	}
	img := image.NewGray(image.Rect(0, 0, w, h))
	for x := range w {
		for y := range h / 2 {
			img.SetGray(x, y, color.Gray{Y: 200})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		return err
	}
	data := append([]byte(string(b.Bytes()[:2])+exif), b.Bytes()[2:]...)
	return os.WriteFile(ts.MkAbs(args[0]), data, 0o600)
}
