package photo

import (
	"os"
	"path/filepath"
	"testing"

	"fairedge/internal/problem"
)

// FuzzDecode holds Decode to its word: a whole Photo within the limits, or a
// problem of a kind that names the file's fault; never a panic.
func FuzzDecode(f *testing.F) {
	for _, pattern := range []string{"testdata/jpeg/*", "testdata/png/*"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			f.Fatalf("%s: %v", pattern, err)
		}
		for _, name := range names {
			if data, err := os.ReadFile(name); err == nil && len(data) < 8000 {
				f.Add(data)
			}
		}
	}
	small := encoded(f, corners(48, 32))
	f.Add(small)
	f.Add(withEXIF(small, phoneEXIF(map[uint16]any{exifOrientation: uint16(6)})))
	f.Add(pngOf(f, corners(24, 16)))
	heic := heicFrom(f, oriented(encoded(f, corners(64, 64)), 6))
	f.Add(heic)
	f.Add(withTransforms(f, heic, propertyBox("imir", 1), propertyBox("irot", 3)))
	f.Fuzz(func(t *testing.T, data []byte) {
		limits := Limits{MinPixels: 1, MaxPixels: 1e6}
		p, err := Decode(data, limits)
		if err != nil {
			checkProblem(t, err)
			return
		}
		checkWhole(t, p, limits)
	})
}

func checkProblem(t *testing.T, err error) {
	t.Helper()
	switch problem.KindOf(err) {
	case problem.NotAPicture, problem.DamagedImage, problem.ImageTooLarge, problem.ImageTooSmall, problem.UnsupportedImage:
	default:
		t.Errorf("kind %v: %v", problem.KindOf(err), err)
	}
}

func checkWhole(t *testing.T, p *Photo, limits Limits) {
	t.Helper()
	w, h := p.ChromaSize()
	if p.Width < 1 || p.Height < 1 || p.Width*p.Height > limits.MaxPixels {
		t.Errorf("%d x %d", p.Width, p.Height)
	}
	if len(p.Luma) != p.Width*p.Height || len(p.Cb) != w*h || len(p.Cr) != w*h {
		t.Errorf("%d x %d with planes of %d, %d, %d", p.Width, p.Height, len(p.Luma), len(p.Cb), len(p.Cr))
	}
	if o := p.Lens.Orientation; o < 1 || o > 8 {
		t.Errorf("orientation %d", o)
	}
	p.Colour(3)
}
