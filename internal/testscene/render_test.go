package testscene

import (
	"bytes"
	"math"
	"runtime"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// slowLight is the light of pixel (x, y) by n x n points, from the truth's own
// inverse projection and a point test that knows only the definitions: the path
// by dense points, the card by IsInk.
func slowLight(s Scene, truth Truth, x, y, n int, at func(plane.Point) float64) float64 {
	sum := 0.0
	for j := range n {
		for i := range n {
			p := truth.PlaneFromPhoto(photo.Point{
				X: float64(x) + (float64(i)+0.5)/float64(n),
				Y: float64(y) + (float64(j)+0.5)/float64(n),
			})
			sum += at(p)
		}
	}
	return sum / float64(n*n)
}

// plain returns the everyday scene at 3 MP with nothing but pixels between light
// and number: no grain, no blur, no noise.
func plain() Scene {
	s := Workbench()
	s.Camera = s.Camera.Scaled(0.5)
	s.Bench.Grain, s.Sheet.Grain = 0, 0
	s.Sensor = Sensor{Linear: true, Exposure: 1}
	return s
}

func rawLight(s Scene) (*rawPicture, Truth) {
	view := newProjection(s.Camera)
	r := &renderer{scene: &s, view: view, coats: s.coats(), raw: newRawPicture(s.Camera.Width, s.Camera.Height)}
	r.run()
	return r.raw, s.truthOf(view)
}

// cardLight is the definition of a printed card.
func cardLight(c Placement) func(plane.Point) float64 {
	design, _ := card.DesignOf(c.Card)
	fromPlane := c.PlaneFromCard.Inverse()
	return func(p plane.Point) float64 {
		if design.IsInk(fromPlane.Apply(p)) {
			return cardInk
		}
		return cardPaper
	}
}

// A card's light, pixel by pixel, against 24 x 24 points. The slow light is
// itself good to about 1/24 in a pixel's worst case; the mean over thousands of
// pixels must show no bias.
func TestCardPixelsAgainstBruteForce(t *testing.T) {
	s := plain()
	raw, truth := rawLight(s)
	at := cardLight(s.Cards[1])
	centre := truth.PhotoFromPlane(s.Cards[1].PlaneFromCard.Apply(plane.Point{Y: 10}))
	x0, y0 := int(centre.X)-22, int(centre.Y)-22
	worst, sum, n := 0.0, 0.0, 0
	for y := y0; y < y0+44; y++ {
		for x := x0; x < x0+44; x++ {
			d := (float64(raw.light[y*raw.width+x]) - slowLight(s, truth, x, y, 24, at)) / (cardPaper - cardInk)
			worst, sum, n = math.Max(worst, math.Abs(d)), sum+d, n+1
		}
	}
	if worst > 0.06 { // 64 points on a curved or double border: up to four misjudged
		t.Errorf("worst pixel differs by %.4f of the contrast, want at most 0.06", worst)
	}
	if bias := math.Abs(sum) / float64(n); bias > 5e-4 {
		t.Errorf("mean difference %.6f of the contrast, want under 0.0005", bias)
	}
}

// saddle returns the critical point of the least-squares quadratic over a window
// of 2h+1 pixels about the pixel (x0, y0): with a window symmetric about its
// middle, slopes and the mixed term are plain projections.
func saddle(light []float32, width, x0, y0, h int) photo.Point {
	var sx, sy, sxy, sxx, syy, n2, n22, q4, mean float64
	for i := -h; i <= h; i++ {
		mean += float64(i*i) / float64(2*h+1)
	}
	for j := -h; j <= h; j++ {
		for i := -h; i <= h; i++ {
			f, x, y := float64(light[(y0+j)*width+x0+i]), float64(i), float64(j)
			sx, sy, sxy = sx+x*f, sy+y*f, sxy+x*y*f
			sxx, syy = sxx+(x*x-mean)*f, syy+(y*y-mean)*f
			n2, n22, q4 = n2+x*x, n22+x*x*y*y, q4+(x*x-mean)*(x*x-mean)
		}
	}
	gx, gy, hxy, hxx, hyy := sx/n2, sy/n2, sxy/n22, 2*sxx/q4, 2*syy/q4
	det := hxx*hyy - hxy*hxy
	return photo.Point{
		X: float64(x0) + 0.5 - (hyy*gx-hxy*gy)/det,
		Y: float64(y0) + 0.5 - (hxx*gy-hxy*gx)/det,
	}
}

// mostCentral returns the mark that lies nearest to the middle of a pixel: there
// the quadratic's window is symmetric and its own bias (the blurred saddle is no
// quadratic) vanishes.
func mostCentral(marks []MarkTruth) photo.Point {
	best, at := math.Inf(1), photo.Point{}
	for _, m := range marks {
		d := math.Hypot(m.Photo.X-math.Floor(m.Photo.X)-0.5, m.Photo.Y-math.Floor(m.Photo.Y)-0.5)
		if d < best {
			best, at = d, m.Photo
		}
	}
	return at
}

// Saddles found in the rendered picture, against saddles found the same way in
// brute-force light (under 0.005 px apart) and against the truth's projection.
func TestSaddlesLieWhereTheTruthSays(t *testing.T) {
	s := plain()
	raw, truth := rawLight(s)
	const blurPx, half, edge = 0.8, 3, 9
	for k := range s.Cards {
		at := cardLight(s.Cards[k])
		m := mostCentral(truth.Cards[k].Marks)
		x0, y0 := int(m.X), int(m.Y)
		const w = 2*edge + 1
		fast, slow := make([]float32, w*w), make([]float32, w*w)
		for j := range w {
			for i := range w {
				x, y := x0+i-edge, y0+j-edge
				fast[j*w+i] = raw.light[y*raw.width+x]
				slow[j*w+i] = float32(slowLight(s, truth, x, y, 24, at))
			}
		}
		scratch := make([]float32, w*w)
		blur(fast, scratch, w, w, blurPx)
		blur(slow, scratch, w, w, blurPx)
		a, b := saddle(fast, w, edge, edge, half), saddle(slow, w, edge, edge, half)
		if d := math.Hypot(a.X-b.X, a.Y-b.Y); d > 0.005 {
			t.Errorf("card %d: saddle %.4f px from brute force's", k, d)
		}
		a.X, a.Y = a.X+float64(x0-edge), a.Y+float64(y0-edge)
		// What is left is the quadratic's bias for a mark off the window's middle; a
		// wrong pixel convention would show as 0.5.
		if d := math.Hypot(a.X-m.X, a.Y-m.Y); d > 0.05 {
			t.Errorf("card %d: saddle %.4f px from the truth", k, d)
		}
	}
}

// slowDistance is the distance from p to densely sampled points of the outline
// near it: 0.02 mm apart, so good to 0.01²/1.8 = 6e-5 mm at half a pen's width.
func slowDistance(points []plane.Point, p plane.Point) float64 {
	best := math.Inf(1)
	for _, q := range points {
		best = math.Min(best, p.DistanceSqTo(q))
	}
	return math.Sqrt(best)
}

// Across the drawn line the ink's first moment is its middle and its sum its
// width. Windows along the line, rendered against brute force.
func TestLineLiesOnTheOutline(t *testing.T) {
	s := plain()
	s.Line.Darkness = 1
	raw, truth := rawLight(s)
	var sumShift, sumWidth float64
	count := 0
	for piece := range s.Outline.Len() {
		segment := s.Outline.Segment(piece)
		for _, u := range []float64{0.2, 0.45, 0.7} {
			var near []plane.Point
			for i := -300; i <= 300; i++ {
				v := u + float64(i)*0.02/segment.Derivative(u).Length()
				if v >= 0 && v <= 1 {
					near = append(near, segment.At(v))
				}
			}
			ink := func(p plane.Point) float64 {
				if slowDistance(near, p) <= s.Line.WidthMM/2 {
					return 1
				}
				return 0
			}
			shift, width := inkDifference(s, truth, raw, segment.At(u), segment.Derivative(u).Unit().TurnRight(), ink)
			if math.Abs(shift) > 0.03 || math.Abs(width) > 0.06 {
				t.Errorf("piece %d at %.2f: middle %.4f px off, width %.4f px", piece, u, shift, width)
			}
			sumShift, sumWidth, count = sumShift+shift, sumWidth+width, count+1
		}
	}
	if mean := math.Abs(sumShift) / float64(count); mean > 0.005 {
		t.Errorf("mean shift of the line's middle %.5f px, want under 0.005", mean)
	}
	if mean := math.Abs(sumWidth) / float64(count); mean > 0.005 {
		t.Errorf("mean error of the line's width %.5f px, want under 0.005", mean)
	}
}

// inkDifference returns how far the rendered line's middle lies outward of brute
// force's, and how much wider it is, both in pixels across, over a window of 11
// pixels square.
func inkDifference(s Scene, truth Truth, raw *rawPicture, p plane.Point, out plane.Vec, ink func(plane.Point) float64) (shift, width float64) {
	m, o := truth.PhotoFromPlane(p), truth.PhotoFromPlane(p.Add(out))
	dx, dy := o.X-m.X, o.Y-m.Y
	norm := math.Hypot(dx, dy)
	dx, dy = dx/norm, dy/norm
	var sum, moment, slowSum, slowMoment float64
	for y := int(m.Y) - 5; y <= int(m.Y)+5; y++ {
		for x := int(m.X) - 5; x <= int(m.X)+5; x++ {
			across := (float64(x)+0.5-m.X)*dx + (float64(y)+0.5-m.Y)*dy
			fast := (s.Sheet.Tone - float64(raw.light[y*raw.width+x])) / (s.Sheet.Tone - s.Line.Tone)
			slow := slowLight(s, truth, x, y, 12, ink)
			sum, moment = sum+fast, moment+across*fast
			slowSum, slowMoment = slowSum+slow, slowMoment+across*slow
		}
	}
	length := 11 / math.Max(math.Abs(dx), math.Abs(dy)) // of line in the window
	return moment/sum - slowMoment/slowSum, (sum - slowSum) / length
}

func TestSameSceneSameBytes(t *testing.T) {
	s := Workbench()
	s.Camera = s.Camera.Scaled(0.15)
	s.Sensor.Sharpen, s.Sensor.JPEG = 0.5, 90
	a, _ := s.Photograph()
	before := runtime.GOMAXPROCS(1)
	b, _ := s.Photograph()
	runtime.GOMAXPROCS(before)
	if !bytes.Equal(a.Luma, b.Luma) || !bytes.Equal(a.Cb, b.Cb) || !bytes.Equal(a.Cr, b.Cr) {
		t.Error("two renderings of one scene differ")
	}
	s.Seed++
	if c, _ := s.Photograph(); bytes.Equal(a.Luma, c.Luma) {
		t.Error("another seed gives the same picture")
	}
}
