package shapefile_test

import (
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"fairedge/internal/plane"
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
	picture := drawnByLibrsvg(t, data)
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

// drawnByLibrsvg returns the drawing at 5 px to the mm.
func drawnByLibrsvg(t *testing.T, data []byte) image.Image {
	t.Helper()
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
	return picture
}

// What librsvg fills is what is imported: every pixel farther than a quarter of a
// millimetre from the line is on the same side of it. The drawings have every command of
// path data in both cases, and transforms of every kind.
func TestImportAgainstLibrsvg(t *testing.T) {
	for name, body := range map[string]string{
		"all commands": `<path d="M60 40h60 20l40-10 20 10H240c20 0 30-30 50-10S320 60 330 50q20-20 20 20t10 30v60V200a40 60 20 0 1-10 80A30 30 0 0 0 330 310
			T290 330Q280 380 250 350S200 330 180 350C150 380 120 340 100 345L60 350a50 25-30 1 1-20-60V200 100z"/>`,
		"transforms": `<g transform="translate(200,200) rotate(25)"><g transform="skewX(12) skewY(-7) scale(1.1,.8)"><g transform="matrix(.9 .1 -.2 1.05 3 -4) rotate(10 50 60)">
			<path d="M-100-100C-50-140 50-60 100-100A80 130 15 0 1 110 90Q0 130-100 100A40 40 0 0 0-100-100"/></g></g></g>`,
		"viewport": `<svg x="50" y="30" width="300" height="320" viewBox="-10 -10 80 100"><ellipse cx="50%" cy="40" rx="30" ry="36" transform="rotate(20 30 40)"/></svg>`,
		"clone":    `<defs><rect id="r" x="10" y="10" width="150" height="90" rx="30" ry="12"/></defs><use href="#r" x="20" y="30" transform="translate(60 20) rotate(15) scale(1.6)"/>`,
	} {
		head := `width="400mm" height="400mm" viewBox="0 0 400 400"`
		picture := drawnByLibrsvg(t, svg(head, body))
		got := imported(t, svg(head, body), shapefile.ImportOptions{Back: plane.Vec{Y: 1}})
		wrong, far := 0, 0
		for y := 0; y < 2000; y += 6 {
			for x := 0; x < 2000; x += 5 {
				p := got.Shape.SeatFromPlane.Apply(plane.Point{X: (float64(x) + 0.5) / 5, Y: -(float64(y) + 0.5) / 5})
				dark := color.GrayModel.Convert(picture.At(x, y)).(color.Gray).Y < 128
				if dark == got.Shape.Net.Contains(p) {
					continue
				}
				wrong++
				if _, d := got.Shape.Net.Nearest(p); d > 0.25 {
					far++
				}
			}
		}
		if far > 0 || got.Shape.Size.AreaMM2 < 10000 {
			t.Errorf("%s: %d pixels are on another side, %d of them clear of the line; area %.0f mm2", name, wrong, far, got.Shape.Size.AreaMM2)
		}
	}
}
