package curve

import (
	"math"
	"strings"
	"testing"

	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// The numbers of this file are closed forms unless a line says otherwise: Steiner's
// A' = A + L d + π d², L' = L + 2π d for convex outlines (Schneider, "Convex Bodies:
// The Brunn-Minkowski Theory", section 4.1), and for polygons with corners of turn
// θ: A' = A + L d + d² Σ f(θ), with f = tan(θ/2) for a mitre, θ/2 for an arc, sin(θ)/2
// for a straight cut, and -tan(θ/2) at concave corners.

const seam = 19.05 // 3/4 in

// tPolygon is 600×520 mm with two notches of 60×410: 6 convex and 2 concave right
// corners.
func tPolygon() Path {
	return Polygon(plane.Point{}, plane.Point{X: 600}, plane.Point{X: 600, Y: 110}, plane.Point{X: 540, Y: 110},
		plane.Point{X: 540, Y: 520}, plane.Point{X: 60, Y: 520}, plane.Point{X: 60, Y: 110}, plane.Point{Y: 110})
}

// rectangle is w by h with its lower left corner at the origin; pieces: front,
// right, back, left.
func rectangle(w, h float64) Path {
	return Polygon(plane.Point{}, plane.Point{X: w}, plane.Point{X: w, Y: h}, plane.Point{Y: h})
}

// ellipse returns n cubics through points of the ellipse with half axes a and b,
// with its tangents, close to it within some 1e-7 mm for n = 32.
func ellipse(a, b float64, n int) Path {
	step := 2 * math.Pi / float64(n)
	k := 4.0 / 3 * math.Tan(step/4)
	var pieces []Segment
	for i := range n {
		s0, c0 := math.Sincos(step * float64(i))
		s1, c1 := math.Sincos(step * float64(i+1))
		pieces = append(pieces, Cubic(
			plane.Point{X: a * c0, Y: b * s0}, plane.Point{X: a * (c0 - k*s0), Y: b * (s0 + k*c0)},
			plane.Point{X: a * (c1 + k*s1), Y: b * (s1 - k*c1)}, plane.Point{X: a * c1, Y: b * s1}))
	}
	return ClosedPath(pieces...)
}

func offsetOne(t *testing.T, p Path, a Allowance, tolerance float64) Border {
	t.Helper()
	b, err := p.OffsetOutline(a, tolerance)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestOffsetOfPolygonWithNotches(t *testing.T) {
	p := tPolygon()
	const d, area, length = seam, 262800.0, 2240.0
	tests := []struct {
		join                 Join
		convexArea, convexLn float64 // per convex corner, times d² and d
		pieces               int
	}{
		{JoinMitre, 1, 2, 8},
		{JoinRound, math.Pi / 4, math.Pi / 2, 8 + 6*2},
		{JoinTrimmed, 0.5, math.Sqrt2, 8 + 6},
	}
	for _, test := range tests {
		b := offsetOne(t, p, Uniform(d).WithJoin(test.join), 0.001)
		wantArea := area + length*d + (6*test.convexArea-2)*d*d
		wantLength := length + (6*test.convexLn-4)*d
		// Straight joins are exact. Arcs may stray by the tolerance over 180 mm.
		tolerance := 1e-6
		if test.join == JoinRound {
			tolerance = 0.001 * 6 * math.Pi / 2 * d
		}
		if got := b.SignedArea(); math.Abs(got-wantArea) > tolerance {
			t.Errorf("join %d: area %.3f, want %.3f", test.join, got, wantArea)
		}
		if got := b.ArcLength(1e-6); math.Abs(got-wantLength) > 0.01 {
			t.Errorf("join %d: length %.4f, want %.4f", test.join, got, wantLength)
		}
		if b.Len() != test.pieces {
			t.Errorf("join %d: %d pieces, want %d", test.join, b.Len(), test.pieces)
		}
	}
}

func TestSteiner(t *testing.T) {
	shapes := []struct {
		name string
		path Path
	}{
		{"480×460", rectangle(480, 460)}, {"ellipse", ellipse(240, 180, 8)}, {"circle", ellipse(60, 60, 8)},
		{"S1_roundrect", readSeatTruths(t)[0].Path},
	}
	for _, shape := range shapes {
		a, l := shape.path.SignedArea(), shape.path.ArcLength(1e-9)
		for _, d := range []float64{3, seam, 150} {
			for _, tolerance := range []float64{0.1, 0.01, 0.001} {
				b := offsetOne(t, shape.path, Uniform(d).WithJoin(JoinRound), tolerance)
				wantL := l + 2*math.Pi*d
				dA, dL := b.SignedArea()-(a+l*d+math.Pi*d*d), b.ArcLength(1e-9)-wantL
				if math.Abs(dA) > tolerance*wantL {
					t.Errorf("%s by %g to %g: area off by %.5f mm²", shape.name, d, tolerance, dA)
				}
				// The length of a border that stays within e of a convex one lies within 2π e
				// of its length, as it too is convex but for ripples of size e.
				if math.Abs(dL) > 2*math.Pi*tolerance {
					t.Errorf("%s by %g to %g: length off by %.6f mm", shape.name, d, tolerance, dL)
				}
				if tolerance == 0.001 && d == seam && (math.Abs(dA) > 0.5 || math.Abs(dL) > 0.01) {
					t.Errorf("%s: area off by %.4f mm², length by %.5f mm; the goal is 0.5 and 0.01", shape.name, dA, dL)
				}
			}
		}
	}
}

// ellipseInset is the exact curve at distance d inside the ellipse with half axes a
// and b, at the parameter φ of the ellipse.
func ellipseInset(a, b, d, phi float64) plane.Point {
	sin, cos := math.Sincos(phi)
	l := math.Hypot(b*cos, a*sin)
	return plane.Point{X: a*cos - d*b*cos/l, Y: b*sin - d*a*sin/l}
}

// TestSwallowtailsAreRemoved insets an ellipse by 150 mm, more than the least radius
// b²/a = 135 mm. The exact parallel curve crosses itself on the long axis at the
// parameter where its height is 0, x = (a² - b²)/a cos φ, here 87.7496 mm; the part
// between the two crossings encloses 7485.40 mm², by Simpson's rule on the exact
// curve.
func TestSwallowtailsAreRemoved(t *testing.T) {
	const a, b, d = 240, 180, 150
	// y = sin φ (b - d a/l) = 0 for l = d a/b: b² cos² + a² sin² = (d a/b)².
	sin2 := (d*a/float64(b)*d*a/float64(b) - b*b) / (a*a - b*b)
	phi := math.Asin(math.Sqrt(sin2))
	tip := ellipseInset(a, b, d, phi)
	const n = 20000
	area := 0.0
	for i := range n {
		// A fan of thin triangles from the centre: ½ r×dr, an error of order n^-2.
		p := ellipseInset(a, b, d, phi+(math.Pi-2*phi)*float64(i)/n)
		q := ellipseInset(a, b, d, phi+(math.Pi-2*phi)*float64(i+1)/n)
		area += plane.Vec(p).Cross(plane.Vec(q))
	}
	for _, tolerance := range []float64{0.1, 0.01, 0.001} {
		got := offsetOne(t, ellipse(a, b, 32), Uniform(-d), tolerance)
		if x := got.Bounds().Max.X; math.Abs(x-tip.X) > 10*tolerance { // the tip is a sharp corner: 1/sin of the half angle
			t.Errorf("to %g: tip at %.5f, want %.5f", tolerance, x, tip.X)
		}
		if s := got.SignedArea(); math.Abs(s-area) > tolerance*got.ArcLength(0.1) {
			t.Errorf("to %g: area %.4f, want %.4f", tolerance, s, area)
		}
		if !got.IsSimple() {
			t.Errorf("to %g: the border crosses itself", tolerance)
		}
	}
}

// slotted is w by 200 mm with a slot of the given width and depth 150 in the middle
// of its top.
func slotted(w, slot float64) Path {
	l, r := (w-slot)/2, (w+slot)/2
	return Polygon(plane.Point{}, plane.Point{X: w}, plane.Point{X: w, Y: 200}, plane.Point{X: r, Y: 200},
		plane.Point{X: r, Y: 50}, plane.Point{X: l, Y: 50}, plane.Point{X: l, Y: 200}, plane.Point{Y: 200})
}

// TestNarrowSlotCloses: with rounded corners a slot narrower than 2d closes to a notch
// where the two arcs about its mouth meet, d sin φ = slot/2; the area is that of the
// filled rectangle's offset less the notch.
func TestNarrowSlotCloses(t *testing.T) {
	const w, h, slot, d = 600, 200, 30, seam
	r, err := slotted(w, slot).Offset(Uniform(d).WithJoin(JoinRound), 0.001)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Outlines) != 1 || len(r.Holes) != 0 {
		t.Fatalf("%d parts and %d holes, want 1 and 0", len(r.Outlines), len(r.Holes))
	}
	half := slot / 2.0
	// Between the corners the border sinks from d to sqrt(d² - half²): under the arcs
	// stands 2 ∫ sqrt(d² - x²) dx from 0 to half.
	under := half*math.Sqrt(d*d-half*half) + d*d*math.Asin(half/d)
	want := w*h + 2*(w+h)*d + math.Pi*d*d - (slot*d - under)
	if got := r.Area(); math.Abs(got-want) > 0.001*1800 {
		t.Errorf("area %.3f, want %.3f", got, want)
	}
}

func TestSlotsOfEveryWidth(t *testing.T) {
	for slot := 10.0; slot <= 60; slot += 1.27 {
		for _, width := range []float64{slot, 2 * seam} { // exactly 2d: the sides touch
			r, err := slotted(600, width).Offset(Uniform(seam).WithJoin(JoinMitre), 0.01)
			if err != nil {
				t.Fatalf("slot %g: %v", width, err)
			}
			want := (600 + 2*seam) * (200 + 2*seam)
			if width > 2*seam {
				want -= (width - 2*seam) * 150
			}
			// Coincident sides may be told apart by a tenth of the tolerance.
			if len(r.Outlines) != 1 || len(r.Holes) != 0 || math.Abs(r.Area()-want) > 0.1*0.01*2000 {
				t.Errorf("slot %g: area %.4f, want %.4f; %d parts, %d holes", width, r.Area(), want, len(r.Outlines), len(r.Holes))
			}
		}
	}
}

// TestKeyholeBecomesAHole: a slot that widens inside leaves a hole when its mouth
// closes.
func TestKeyholeBecomesAHole(t *testing.T) {
	p := Polygon(plane.Point{}, plane.Point{X: 400}, plane.Point{X: 400, Y: 300}, plane.Point{X: 210, Y: 300}, plane.Point{X: 210, Y: 250},
		plane.Point{X: 280, Y: 250}, plane.Point{X: 280, Y: 100}, plane.Point{X: 120, Y: 100}, plane.Point{X: 120, Y: 250},
		plane.Point{X: 190, Y: 250}, plane.Point{X: 190, Y: 300}, plane.Point{Y: 300})
	r, err := p.Offset(Uniform(seam), 0.01)
	if err != nil {
		t.Fatal(err)
	}
	hole := (160 - 2*seam) * (150 - 2*seam)
	want := (400+2*seam)*(300+2*seam) - hole
	if len(r.Outlines) != 1 || len(r.Holes) != 1 || math.Abs(r.Area()-want) > 1e-6 {
		t.Fatalf("%d parts, %d holes, area %.3f; want 1, 1, %.3f", len(r.Outlines), len(r.Holes), r.Area(), want)
	}
	if got := r.Holes[0].SignedArea(); math.Abs(got+hole) > 1e-6 {
		t.Errorf("the hole has the signed area %.3f, want %.3f", got, -hole)
	}
	if _, err := p.OffsetOutline(Uniform(seam), 0.01); err == nil {
		t.Error("OffsetOutline must refuse a region with a hole")
	}
}

func TestNeckFallsIntoParts(t *testing.T) {
	// Two rooms of 200×200 joined by a neck 30 mm wide, inset by 20.
	p := Polygon(plane.Point{}, plane.Point{X: 200}, plane.Point{X: 200, Y: 85}, plane.Point{X: 300, Y: 85}, plane.Point{X: 300},
		plane.Point{X: 500}, plane.Point{X: 500, Y: 200}, plane.Point{X: 300, Y: 200}, plane.Point{X: 300, Y: 115},
		plane.Point{X: 200, Y: 115}, plane.Point{X: 200, Y: 200}, plane.Point{Y: 200})
	r, err := p.Offset(Uniform(-20), 0.01)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Outlines) != 2 || len(r.Holes) != 0 {
		t.Fatalf("%d parts, %d holes, want 2 and 0", len(r.Outlines), len(r.Holes))
	}
	// Each room keeps 160×160 and, where the neck was, what lies beyond the mitred
	// corner lines: nothing, as they meet 5 mm inside the wall line.
	if got := r.Area(); math.Abs(got-2*160*160) > 2*2*5*30 || got < 2*160*160 {
		t.Errorf("area %.2f, want about 51200", got)
	}
}

func TestRectangleWithFourAllowances(t *testing.T) {
	const w, h = 480.0, 460.0
	for _, a := range [][]float64{{19.05, 19.05, 12.7, 19.05}, {10, 20, 30, 40}, {0, 5, 0, 5}, {0, 0, 12.7, 0}, {-10, -20, -30, -40}, {10, 20, -5, 0}, {-7, 3, 3, 3}} {
		b := offsetOne(t, rectangle(w, h), ByPiece(a), 0.01)
		want := (w + a[1] + a[3]) * (h + a[0] + a[2])
		if got := b.SignedArea(); math.Abs(got-want) > 1e-6 {
			t.Errorf("allowances %v: area %.6f, want %.6f", a, got, want)
		}
		if b.Len() != 4 {
			t.Errorf("allowances %v: %d pieces, want 4", a, b.Len())
		}
		for i, source := range b.Sources {
			if source != i || !b.Segment(i).Straight {
				t.Errorf("allowances %v: piece %d comes from %d", a, i, source)
			}
		}
	}
}

// TestAllowanceStepsSquareOnASmoothSeam: a circle of four quarters, one of them with
// twice the allowance, is the ring sectors' sum, and the steps run along the radius.
func TestAllowanceStepsSquareOnASmoothSeam(t *testing.T) {
	const r, d1, d2 = 200.0, 10.0, 20.0
	b := offsetOne(t, ellipse(r, r, 16), ByPiece([]float64{d2, d2, d2, d2, d1, d1, d1, d1, d1, d1, d1, d1, d1, d1, d1, d1}), 0.001)
	want := math.Pi / 4 * ((r+d2)*(r+d2) + 3*(r+d1)*(r+d1))
	if got := b.SignedArea(); math.Abs(got-want) > 0.001*1400 {
		t.Errorf("area %.3f, want %.3f", got, want)
	}
	steps := 0
	for i, source := range b.Sources {
		if source >= 0 {
			continue
		}
		steps++
		s := b.Segment(i)
		if !s.Straight || math.Abs(s.ArcLength(1e-6)-(d2-d1)) > 1e-3 {
			t.Errorf("step %d: %v, want a line of 10 mm", i, s)
		}
		if along := plane.Vec(s.P0).Unit().Cross(s.Tangent(0)); math.Abs(along) > 1e-6 {
			t.Errorf("step %d leaves the radius by %g", i, along)
		}
	}
	if steps != 2 {
		t.Errorf("%d steps, want 2", steps)
	}
}

func TestMitreLimit(t *testing.T) {
	// A tip of 20 degrees: the mitre reaches d/sin(10°) = 5.76 d, and is cut off square
	// at 4 d. The cut is 2 (5.76 - 4) d tan 10° wide.
	half := 10 * math.Pi / 180
	p := Polygon(plane.Point{}, plane.Point{X: 300, Y: -300 * math.Tan(half)}, plane.Point{X: 300, Y: 300 * math.Tan(half)})
	for _, test := range []struct{ limit, reach float64 }{{0, 4}, {4, 4}, {2, 2}, {10, 1 / math.Sin(half)}} {
		b := offsetOne(t, p, Allowance{All: seam, MitreLimit: test.limit}, 0.01)
		if got, want := -b.Bounds().Min.X, test.reach*seam; math.Abs(got-want) > 1e-9 {
			t.Errorf("limit %g: the tip reaches %.4f, want %.4f", test.limit, got, want)
		}
		_, near := p.Nearest(b.AtLength(0, 1e-6).Point)
		if near < seam-1e-6 {
			t.Errorf("limit %g: the border comes within %.4f mm", test.limit, near)
		}
	}
}

func TestInsetLargerThanTheShape(t *testing.T) {
	for _, p := range []Path{ellipse(60, 60, 4), rectangle(200, 100), tPolygon(), ellipse(240, 180, 8)} {
		for _, d := range []float64{-261, -300, -1000, -5000} {
			r, err := p.Offset(Uniform(d), 0.01)
			if err == nil || problem.KindOf(err) != problem.Usage || len(r.Outlines) != 0 {
				t.Errorf("inset %g of %v: %v with %d parts, want an error", d, p.Bounds(), err, len(r.Outlines))
			}
		}
	}
	if _, err := ellipse(60, 60, 4).Offset(Uniform(-60.5), 0.01); err == nil {
		t.Error("an inset of 60.5 mm must leave nothing of a disc of 60")
	}
	if b := offsetOne(t, ellipse(60, 60, 16), Uniform(-59), 0.001); math.Abs(b.SignedArea()-math.Pi) > 0.02 {
		t.Errorf("an inset of 59 mm leaves %.4f mm² of a disc of 60, want π", b.SignedArea())
	}
}

// TestOpeningAndClosing: out by d and back in by d gives the shape again where no
// concave bend is tighter than d; in and out where no convex one is.
func TestOpeningAndClosing(t *testing.T) {
	for _, s := range readSeatTruths(t) {
		if s.Name == "S3_Tcushion" {
			continue // its concave corners are sharp
		}
		out := offsetOne(t, s.Path, Uniform(seam).WithJoin(JoinRound), 0.001)
		back := offsetOne(t, out.Path, Uniform(-seam), 0.001)
		if d := math.Max(farthest([]Path{back.Path}, []Path{s.Path}), farthest([]Path{s.Path}, []Path{back.Path})); d > 0.02 {
			t.Errorf("%s out and in again: %.4f mm off, want 0.02", s.Name, d)
		}
	}
	e := ellipse(240, 180, 8)
	in := offsetOne(t, e, Uniform(-100), 0.001)
	back := offsetOne(t, in.Path, Uniform(100), 0.001)
	if d := math.Max(farthest([]Path{back.Path}, []Path{e}), farthest([]Path{e}, []Path{back.Path})); d > 0.02 {
		t.Errorf("ellipse in and out again: %.4f mm off, want 0.02", d)
	}
}

func TestZeroAllowanceChangesNothing(t *testing.T) {
	for _, s := range readSeatTruths(t) {
		b := offsetOne(t, s.Path, Uniform(0), 0.01)
		if d := farthest([]Path{b.Path}, []Path{s.Path}); d > 1e-9 || b.Len() != s.Path.Len() {
			t.Errorf("%s by 0: %g mm off, %d pieces for %d", s.Name, d, b.Len(), s.Path.Len())
		}
	}
}

func TestOffsetRefuses(t *testing.T) {
	p := rectangle(100, 100)
	tests := []struct {
		name      string
		path      Path
		spec      Allowance
		tolerance float64
		want      string
	}{
		{"empty", Path{}, Uniform(5), 0.01, "only a closed outline"},
		{"open", OpenPath(p.Segments()...), Uniform(5), 0.01, "only a closed outline"},
		{"clockwise", p.Reversed(), Uniform(5), 0.01, "runs clockwise"},
		{"crossing", Polygon(plane.Point{}, plane.Point{X: 100, Y: 100}, plane.Point{X: 100}, plane.Point{X: -9, Y: 120}), Uniform(5), 0.01, "crosses itself near"},
		{"gap", ClosedPath(p.Segments()[:3]...), Uniform(5), 0.01, "is broken"},
		{"not a number", Polygon(plane.Point{}, plane.Point{X: math.NaN()}, plane.Point{Y: 3}), Uniform(5), 0.01, "is broken"},
		{"too few allowances", p, ByPiece([]float64{1, 2}), 0.01, "2 allowances were given for an outline of 4 pieces"},
		{"no allowances", p, ByPiece(nil), 0.01, "0 allowances"},
		{"NaN allowance", p, Uniform(math.NaN()), 0.01, "is NaN mm"},
		{"huge allowance", p, Uniform(1e6), 0.01, "is 1e+06 mm"},
		{"mitre limit", p, Allowance{All: 5, MitreLimit: 0.5}, 0.01, "a mitre limit of 0.5"},
		{"tolerance 0", p, Uniform(5), 0, "cannot be made to 0 mm"},
		{"tolerance NaN", p, Uniform(5), math.NaN(), "cannot be made to NaN mm"},
	}
	for _, test := range tests {
		r, err := test.path.Offset(test.spec, test.tolerance)
		if err == nil || !strings.Contains(err.Error(), test.want) || len(r.Outlines) != 0 {
			t.Errorf("%s: %v, want %q", test.name, err, test.want)
		}
		if err != nil && problem.KindOf(err) != problem.Usage {
			t.Errorf("%s: kind %v, want usage", test.name, problem.KindOf(err))
		}
	}
}
