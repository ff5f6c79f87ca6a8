package photo_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
	"shortday/knowledge/photo"
)

// leaf is a picture whose upper left corner is red, on green.
func leaf(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.Set(x, y, color.RGBA{G: 160, A: 255})
			if x < w/2 && y < h/2 {
				img.Set(x, y, color.RGBA{R: 220, A: 255})
			}
		}
	}
	return img
}

func asJPEG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, nil))
	return b.Bytes()
}

// withEXIF puts an orientation, and a place in words, into a JPEG.
func withEXIF(jpg []byte, orientation uint16) []byte {
	tiff := []byte("MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01")
	tiff = binary.BigEndian.AppendUint16(tiff, orientation)
	tiff = append(tiff, "\x00\x00\x00\x00\x00\x00GPS 53.1 -6.7"...)
	body := append([]byte("Exif\x00\x00"), tiff...)
	segment := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(body)+2))
	return append(append(append([]byte{}, jpg[:2]...), append(segment, body...)...), jpg[2:]...)
}

func decoded(t *testing.T, data []byte) image.Image {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	return img
}

func isRed(img image.Image, x, y int) bool {
	r, g, _, _ := img.At(x, y).RGBA()
	return r > g
}

func TestKeptPhotoIsSmallAndUpright(t *testing.T) {
	t.Parallel()
	// Where the red corner is (right, below) once the photo is turned upright.
	for orientation, at := range map[uint16][2]bool{
		0: {false, false}, 1: {false, false}, 2: {true, false}, 3: {true, true}, 4: {false, true},
		5: {false, false}, 6: {true, false}, 7: {true, true}, 8: {false, true}, 9: {false, false},
	} {
		p, err := photo.Read(withEXIF(asJPEG(t, leaf(400, 200)), orientation))
		require.NoError(t, err)
		w, h := 400, 200
		if orientation >= 5 && orientation <= 8 {
			w, h = h, w
		}
		require.Equal(t, [2]int{w, h}, [2]int{p.Width, p.Height}, orientation)
		require.NotContains(t, string(p.Data)+string(p.Small), "Exif")
		require.NotContains(t, string(p.Data)+string(p.Small), "GPS")
		for size, img := range map[int]image.Image{400: decoded(t, p.Data), photo.Thumbnail: decoded(t, p.Small)} {
			b := img.Bounds()
			require.Equal(t, size, max(b.Dx(), b.Dy()))
			for _, right := range []bool{false, true} {
				for _, below := range []bool{false, true} {
					x, y := b.Dx()/4, b.Dy()/4
					if right {
						x += b.Dx() / 2
					}
					if below {
						y += b.Dy() / 2
					}
					require.Equal(t, at == [2]bool{right, below}, isRed(img, x, y), "%d at %d,%d", orientation, x, y)
				}
			}
		}
	}
}

func TestSizeThatIsKept(t *testing.T) {
	t.Parallel()
	large, err := photo.Read(asJPEG(t, leaf(3300, 1650)))
	require.NoError(t, err)
	require.Equal(t, [2]int{photo.Longest, photo.Longest / 2}, [2]int{large.Width, large.Height})
	p, err := photo.Read(asJPEG(t, leaf(40, 30)))
	require.NoError(t, err)
	require.Equal(t, [2]int{40, 30}, [2]int{p.Width, p.Height})
	thin, err := photo.Read(asJPEG(t, leaf(9000, 1)))
	require.NoError(t, err)
	require.Equal(t, [2]int{1600, 1}, [2]int{thin.Width, thin.Height})
}

func TestOtherForms(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, image.NewNRGBA(image.Rect(0, 0, 8, 8)))) // all of it shines through
	p, err := photo.Read(b.Bytes())
	require.NoError(t, err)
	r, _, _, _ := decoded(t, p.Data).At(4, 4).RGBA()
	require.Greater(t, r, uint32(0xf000), "on white")
	p, err = photo.Read(tinyWebP(t))
	require.NoError(t, err)
	require.Equal(t, [2]int{1, 1}, [2]int{p.Width, p.Height})
}

// tinyWebP is a WebP of one pixel, losslessly packed.
func tinyWebP(t testing.TB) []byte {
	t.Helper()
	data, err := base64.StdEncoding.DecodeString("UklGRhoAAABXRUJQVlA4TA0AAAAvAAAAEAcQERGIiP4HAA==")
	require.NoError(t, err)
	return data
}

// giant is a PNG that says it has so many pixels, and is next to nothing.
func giant(w, h uint32) []byte {
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32([]byte("IHDR"), w), h)
	head = append(head, 8, 6, 0, 0, 0)
	data := append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), head...)
	return binary.BigEndian.AppendUint32(data, crc32.ChecksumIEEE(head))
}

func TestReadRefuses(t *testing.T) {
	t.Parallel()
	jpg := asJPEG(t, leaf(64, 64))
	layered := append([]byte{}, jpg...)
	for range 60 {
		layered = append(layered, 0xff, 0xda, 0, 2)
	}
	huge := append([]byte{}, tinyWebP(t)...)
	copy(huge[21:], "\xff\xff\xff\x0f")
	for want, data := range map[string][]byte{
		"This photo has 40 megapixels, and at most 24": giant(8000, 5000),
		"This photo has 900 megapixels":                giant(30_000, 30_000),
		"This photo has 268 megapixels":                huge,
		"This photo is damaged":                        jpg[:len(jpg)/2],
		"built up in 61 layers":                        layered,
		"a form (HEIC or AVIF)":                        []byte("\x00\x00\x00\x18ftypheic\x00\x00"),
		"This is a film":                               []byte("\x00\x00\x00\x18ftypmp42\x00\x00"),
		"a picture in a form that is not read here":    []byte("GIF89a\x01"),
		"a program, whatever its name, and no photo":   []byte("MZ\x90\x00"),
		"no photo that can be read":                    []byte("rust on the leaves"),
		"This is no photo":                             nil,
	} {
		_, err := photo.Read(data)
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.Unclear, fault.KindOf(err), want)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(asJPEG(f, leaf(16, 8)))
	f.Add(withEXIF(asJPEG(f, leaf(8, 8)), 6))
	f.Add(tinyWebP(f))
	f.Add(giant(2, 2))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := photo.Read(data)
		if err != nil {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			return
		}
		require.LessOrEqual(t, max(p.Width, p.Height), photo.Longest)
		again, err := photo.Read(p.Data)
		require.NoError(t, err)
		require.Equal(t, [2]int{p.Width, p.Height}, [2]int{again.Width, again.Height})
	})
}

func BenchmarkRead12Megapixels(b *testing.B) {
	data := asJPEG(b, leaf(4000, 3000))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := photo.Read(data); err != nil {
			b.Fatal(err)
		}
	}
}
