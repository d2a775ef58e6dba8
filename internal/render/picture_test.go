package render

import (
	"image"
	"image/color"
	"math"
	"testing"

	"fairedge/internal/photo"
)

func ground(w, h int, c color.RGBA) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := 0; i < len(img.Pix); i += 4 {
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = c.R, c.G, c.B, 255
	}
	return img
}

func ring(cx, cy, r float64, n int) []photo.Point {
	points := make([]photo.Point, n)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		points[i] = photo.Point{X: cx + r*cos, Y: cy + r*sin}
	}
	return points
}

func luminance(c color.RGBA) float64 {
	linear := func(v uint8) float64 { return math.Pow(float64(v)/255, 2.2) }
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// contrast is the ratio of WCAG 2.1, 1.4.11, which asks for 3 : 1.
func contrast(a, b color.RGBA) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// The outline can be told from any ground: its colour or its halo stands out.
func TestOutlineReadsOnAnyGround(t *testing.T) {
	for _, c := range []color.RGBA{{255, 255, 255, 255}, {0, 0, 0, 255}, {200, 160, 100, 255}, {128, 128, 128, 255}, {255, 214, 10, 255}, {90, 50, 30, 255}} {
		base := ground(800, 600, c)
		img, err := CheckPicture(Check{Base: base, PerPixel: 4, Outline: ring(1600, 1200, 800, 400)})
		if err != nil {
			t.Fatal(err)
		}
		best := 0.0
		for x := 590; x < 610; x++ { // across the ring's right side at (600, 300)
			best = math.Max(best, contrast(img.RGBAAt(x, 300), c))
		}
		if best < 3 {
			t.Errorf("on %v the outline has a contrast of %.1f, want 3", c, best)
		}
		if got := base.RGBAAt(600, 300); got != c {
			t.Error("the base was drawn on")
		}
	}
}

// The line's middle is where the points are: the centroid of a thin bright line on
// black. A shift of half a pixel of the picture would show a person a wrong edge.
func TestOutlineIsDrawnWhereItIs(t *testing.T) {
	base := ground(400, 300, color.RGBA{0, 0, 0, 255})
	for _, x := range []float64{100.5, 333.25, 600} {
		layer := Layer{Ink: inkOutline, Width: 3, Lines: []Line{{Points: []photo.Point{{X: x, Y: 40}, {X: x, Y: 500}}}}}
		img, err := DebugPicture(base, 2, layer)
		if err != nil {
			t.Fatal(err)
		}
		var sum, moment float64
		for i := range 400 {
			v := float64(img.RGBAAt(i, 100).R)
			sum += v
			moment += v * (float64(i) + 0.5)
		}
		if got := 2 * moment / sum; math.Abs(got-x) > 0.05 {
			t.Errorf("a line at x = %v is drawn at %.3f", x, got)
		}
	}
}

// The slow, obvious way: coverage by 16 x 16 points in every pixel.
func TestMaskCoversWhatPointsSay(t *testing.T) {
	a, b, width := photo.Point{X: 5.3, Y: 6.1}, photo.Point{X: 27.8, Y: 17.4}, 4.0
	m := newMask(image.Pt(34, 24))
	m.line(a, b, width)
	dx, dy := b.X-a.X, b.Y-a.Y
	worst := 0.0
	for y := range m.height {
		for x := range m.width {
			inside := 0
			for k := range 256 {
				px, py := float64(x)+(float64(k%16)+0.5)/16-a.X, float64(y)+(float64(k/16)+0.5)/16-a.Y
				s := math.Min(1, math.Max(0, (px*dx+py*dy)/(dx*dx+dy*dy)))
				if math.Hypot(px-s*dx, py-s*dy) <= width/2 {
					inside++
				}
			}
			worst = math.Max(worst, math.Abs(float64(inside)/256-float64(m.cover[y*m.width+x])/255))
		}
	}
	if worst > 0.1 { // what mask promises
		t.Errorf("coverage is off by %.3f, want at most 0.1", worst)
	}
}

func TestCheckPictureHasRoomForItsCaption(t *testing.T) {
	base := ground(900, 1200, color.RGBA{120, 120, 120, 255})
	c := Check{Base: base, PerPixel: 1, Caption: Caption{Title: "A", Width: 450, Depth: 420, Perimeter: 1500, AreaMM2: 170000,
		Accuracy: "Right to about ± 1 mm.", Warnings: []string{"the edge was bridged over 40 mm at the lower left."}}}
	short, err := CheckPicture(c)
	if err != nil {
		t.Fatal(err)
	}
	c.Caption.Warnings = append(c.Caption.Warnings, "nobody measured this print.")
	long, err := CheckPicture(c)
	if err != nil {
		t.Fatal(err)
	}
	if !(short.Bounds().Dy() > 1200 && long.Bounds().Dy() > short.Bounds().Dy()) || short.Bounds().Dx() != 900 {
		t.Errorf("pictures are %v and %v", short.Bounds(), long.Bounds())
	}
	for y := short.Bounds().Dy() - 5; y < short.Bounds().Dy(); y++ {
		for x := range 900 {
			if q := short.RGBAAt(x, y); q != (color.RGBA{inkPanel.R, inkPanel.G, inkPanel.B, 255}) {
				t.Fatalf("writing runs over the lower border at (%d, %d)", x, y)
			}
		}
	}
}

func TestPicturesTakeBadPlaces(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	bad := []photo.Point{{X: nan, Y: 1}, {X: inf, Y: -inf}, {X: -1e300, Y: 1e300}, {X: 5, Y: 5}}
	c := Check{Base: ground(50, 40, color.RGBA{}), PerPixel: 1, Outline: bad, Samples: bad, Marks: bad,
		Labels: []PointLabel{{bad[0], "x"}, {bad[1], "a label wider than the picture"}}}
	if _, err := CheckPicture(c); err != nil {
		t.Error(err)
	}
	for _, c := range []Check{{}, {Base: image.NewRGBA(image.Rect(0, 0, 0, 5)), PerPixel: 1}, {Base: ground(5, 5, color.RGBA{}), PerPixel: nan}} {
		if _, err := CheckPicture(c); err == nil {
			t.Error("a check picture without a photo gives no error")
		}
	}
}

func TestReduction(t *testing.T) {
	for _, c := range []struct{ w, h, want int }{{1600, 1200, 1}, {2100, 1500, 1}, {4032, 3024, 2}, {3024, 4032, 2}, {4608, 3456, 3}} {
		if got := Reduction(c.w, c.h); got != c.want {
			t.Errorf("Reduction(%d, %d) = %d, want %d", c.w, c.h, got, c.want)
		}
	}
}

func BenchmarkCheckPicture(b *testing.B) {
	c := Check{Base: ground(1600, 1200, color.RGBA{150, 120, 90, 255}), PerPixel: 2.5,
		Outline: ring(2000, 1500, 1200, 1500), Samples: ring(2000, 1500, 1200, 1500), Marks: ring(500, 500, 300, 520),
		Caption: Caption{Title: "Alder", Width: 450, Depth: 420, Perimeter: 1500, AreaMM2: 170000,
			Accuracy: "Each size is right to about ± 1.0 mm (95 %), print included.", Warnings: []string{"nobody measured this print."}}}
	for b.Loop() {
		if _, err := CheckPicture(c); err != nil {
			b.Fatal(err)
		}
	}
}

// The band and its sentence are drawn, and only when there is one.
func TestBandIsDrawn(t *testing.T) {
	at := func(band []Line, words string) (color.RGBA, int) {
		base := ground(800, 600, color.RGBA{255, 255, 255, 255})
		img, err := CheckPicture(Check{Base: base, PerPixel: 1, Outline: ring(400, 300, 200, 400), Band: band, Caption: Caption{Band: words}})
		if err != nil {
			t.Fatal(err)
		}
		return img.RGBAAt(640, 300), img.Bounds().Dy()
	}
	bare, height := at(nil, "")
	drawn, taller := at([]Line{{ring(400, 300, 240, 400), true}}, "The band is drawn 5 times as wide as it is.")
	if bare != (color.RGBA{255, 255, 255, 255}) || drawn == bare || drawn.G >= drawn.R || drawn.G >= drawn.B {
		t.Errorf("beside the outline %v without, %v with a band; want a purple", bare, drawn)
	}
	if taller <= height {
		t.Errorf("the caption is %d px tall with the band's sentence, %d without", taller, height)
	}
}
