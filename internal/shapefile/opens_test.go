package shapefile_test

import (
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"fairedge/internal/shapefile"
)

// librsvg, an independent reader, draws a shape's SVG at its true size: at 127 dpi, 5 px
// to the mm, the line's outer border is 400.25 x 300.25 mm (the line is 0.25 mm wide).
func TestSVGOpensElsewhereAtTrueSize(t *testing.T) {
	s, err := shapefile.Rectangle(400, 300, shapefile.Corners{FrontLeft: 120})
	if err != nil {
		t.Fatal(err)
	}
	data, err := shapefile.EncodeSVG(shapefile.Document{Shape: s, Name: "Alder"})
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "a.svg"), filepath.Join(dir, "a.png")
	if err := os.WriteFile(in, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if said, err := exec.Command("rsvg-convert", "--dpi-x", "127", "--dpi-y", "127", "--background-color", "white", "-o", out, in).CombinedOutput(); err != nil {
		t.Fatalf("rsvg-convert is needed (make test installs it): %v\n%s", err, said)
	}
	f, err := os.Open(out)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	picture, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	b := picture.Bounds()
	left, right, top, bottom := b.Max.X, 0, b.Max.Y, 0
	lowest := 0 // the row of ink under the left end: the rounded corner lies at the front left
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if color.GrayModel.Convert(picture.At(x, y)).(color.Gray).Y < 128 {
				left, right, top, bottom = min(left, x), max(right, x), min(top, y), max(bottom, y)
				if x < 60*5 {
					lowest = max(lowest, y)
				}
			}
		}
	}
	if w, h := float64(right-left+1)/5, float64(bottom-top+1)/5; math.Abs(w-400.25) > 0.3 || math.Abs(h-300.25) > 0.3 {
		t.Errorf("drawn %.2f mm by %.2f mm, want 400.25 by 300.25", w, h)
	}
	if math.Abs(float64(b.Dx())/5-420) > 0.3 {
		t.Errorf("the page is %d px wide, want 420 mm", b.Dx())
	}
	if lowest > bottom-50 {
		t.Error("the rounded corner is not at the front left")
	}
}
