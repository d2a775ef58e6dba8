package photo

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// anySize lets the small test pictures through.
func anySize() Limits { return Limits{MinPixels: 1} }

func readFile(t testing.TB, parts ...string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(append([]string{"testdata"}, parts...)...))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func mustDecode(t testing.TB, data []byte) *Photo {
	t.Helper()
	p, err := Decode(data, anySize())
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// corners is a picture that no turn or mirroring leaves as it is: a red upper
// left corner, a green upper right, a blue lower left, a white lower right.
func corners(width, height int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			c := color.RGBA{90, 90, 90, 255}
			left, right := x < width/4, x >= width-width/4
			top, bottom := y < height/4, y >= height-height/4
			switch {
			case left && top:
				c = color.RGBA{220, 30, 30, 255}
			case right && top:
				c = color.RGBA{30, 200, 30, 255}
			case left && bottom:
				c = color.RGBA{30, 30, 220, 255}
			case right && bottom:
				c = color.RGBA{250, 250, 250, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	return img
}

func encoded(t testing.TB, img *image.RGBA) []byte {
	t.Helper()
	var buffer bytes.Buffer
	if err := EncodeJPEG(&buffer, img, 95); err != nil {
		t.Fatal(err)
	}
	return buffer.Bytes()
}

// turnedForStorage is the obvious, slow way to store an upright picture so that
// the EXIF value turns it upright again: by the standard's own words, which side
// of the upright picture row 0 and column 0 of the stored one are.
func turnedForStorage(upright *image.RGBA, orientation int) *image.RGBA {
	w, h := upright.Rect.Dx(), upright.Rect.Dy()
	row0 := []string{"", "top", "top", "bottom", "bottom", "left", "right", "right", "left"}[orientation]
	col0 := []string{"", "left", "right", "right", "left", "top", "top", "bottom", "bottom"}[orientation]
	sw, sh := w, h
	if row0 == "left" || row0 == "right" {
		sw, sh = h, w
	}
	stored := image.NewRGBA(image.Rect(0, 0, sw, sh))
	for y := range h {
		for x := range w {
			distance := map[string]int{"left": x, "right": w - 1 - x, "top": y, "bottom": h - 1 - y}
			stored.SetRGBA(distance[col0], distance[row0], upright.RGBAAt(x, y))
		}
	}
	return stored
}

// exifField is one entry of a TIFF directory: a SHORT, RATIONAL or ASCII.
type exifField struct {
	tag   uint16
	value any // uint16, [2]uint32 or string
}

// exifBlock writes a big-endian TIFF with IFD0 and an Exif directory.
func exifBlock(ifd0, exif []exifField) []byte {
	const exifPointer = 0x8769
	first := directory(8, append(ifd0[:len(ifd0):len(ifd0)], exifField{exifPointer, uint32(0)}))
	second := directory(8+len(first), exif)
	first = directory(8, append(ifd0[:len(ifd0):len(ifd0)], exifField{exifPointer, uint32(8 + len(first))}))
	return append(append([]byte("MM\x00\x2a\x00\x00\x00\x08"), first...), second...)
}

func directory(at int, fields []exifField) []byte {
	out := binary.BigEndian.AppendUint16(nil, uint16(len(fields)))
	var extra []byte
	extraAt := at + 2 + 12*len(fields) + 4
	for _, f := range fields {
		out = binary.BigEndian.AppendUint16(out, f.tag)
		switch v := f.value.(type) {
		case uint16:
			out = append(out, 0, 3, 0, 0, 0, 1, byte(v>>8), byte(v), 0, 0)
		case uint32:
			out = binary.BigEndian.AppendUint32(append(out, 0, 4, 0, 0, 0, 1), v)
		case [2]uint32:
			out = binary.BigEndian.AppendUint32(append(out, 0, 5, 0, 0, 0, 1), uint32(extraAt+len(extra)))
			extra = binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(extra, v[0]), v[1])
		case string:
			text := append([]byte(v), 0, 0, 0, 0) // more than four bytes, so it is stored apart
			out = binary.BigEndian.AppendUint32(append(out, 0, 2), uint32(len(text)))
			out = binary.BigEndian.AppendUint32(out, uint32(extraAt+len(extra)))
			extra = append(extra, text...)
		}
	}
	return append(append(out, 0, 0, 0, 0), extra...)
}

const (
	exifMake        = 0x010f
	exifModel       = 0x0110
	exifOrientation = 0x0112
	exifFocal       = 0x920a
	exifPixelX      = 0xa002
	exifPixelY      = 0xa003
	exifZoom        = 0xa404
	exifFocal35     = 0xa405
)

// withEXIF puts an EXIF segment behind the JPEG's first marker.
func withEXIF(jpeg, block []byte) []byte {
	segment := append([]byte("Exif\x00\x00"), block...)
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1}, byte((len(segment)+2)>>8), byte(len(segment)+2))
	return append(append(out, segment...), jpeg[2:]...)
}

func oriented(jpeg []byte, orientation int) []byte {
	return withEXIF(jpeg, exifBlock([]exifField{{exifOrientation, uint16(orientation)}}, nil))
}

// heicFrom encodes a JPEG file's bytes as HEIC with libheif's own program, which
// copies the EXIF and writes its orientation into the container as well.
func heicFrom(t testing.TB, jpeg []byte, options ...string) []byte {
	t.Helper()
	program, err := exec.LookPath("heif-enc")
	if err != nil {
		t.Fatal("this test needs heif-enc (apt install libheif-examples)")
	}
	folder := t.TempDir()
	from, to := filepath.Join(folder, "a.jpg"), filepath.Join(folder, "a.heic")
	if err := os.WriteFile(from, jpeg, 0o600); err != nil {
		t.Fatal(err)
	}
	arguments := append(append([]string{"-q", "80"}, options...), "-o", to, from)
	if out, err := exec.Command(program, arguments...).CombinedOutput(); err != nil {
		t.Fatalf("heif-enc: %v\n%s", err, out)
	}
	data, err := os.ReadFile(to)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// meanDifference returns the mean absolute difference of two planes.
func meanDifference(t testing.TB, a, b []uint8) float64 {
	t.Helper()
	if len(a) != len(b) {
		t.Fatalf("planes of %d and %d bytes", len(a), len(b))
	}
	sum := 0
	for i := range a {
		sum += max(int(a[i]), int(b[i])) - min(int(a[i]), int(b[i]))
	}
	return float64(sum) / float64(len(a))
}
