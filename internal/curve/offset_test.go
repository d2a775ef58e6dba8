package curve

import (
	"math"
	"testing"

	"fairedge/internal/plane"
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
		{JoinRound, math.Pi / 4, math.Pi / 2, 8 + 6},
		{JoinTrimmed, 0.5, math.Sqrt2, 8 + 6},
	}
	for _, test := range tests {
		b := offsetOne(t, p, Uniform(d).WithJoin(test.join), 0.001)
		wantArea := area + length*d + (6*test.convexArea-2)*d*d
		wantLength := length + (6*test.convexLn-4)*d
		// An arc of one cubic per quarter is too wide by up to 0.0005 mm here.
		if got := b.SignedArea(); math.Abs(got-wantArea) > 0.1 {
			t.Errorf("join %d: area %.3f, want %.3f", test.join, got, wantArea)
		}
		if got := b.ArcLength(1e-6); math.Abs(got-wantLength) > 0.01 {
			t.Errorf("join %d: length %.4f, want %.4f", test.join, got, wantLength)
		}
		t.Logf("join %d: area %.3f want %.3f pieces %d", test.join, b.SignedArea(), wantArea, b.Len())
	}
}

func TestSteiner(t *testing.T) {
	for name, p := range map[string]Path{
		"480x460": rectangle(480, 460), "ellipse": ellipse(240, 180, 4), "circle": ellipse(60, 60, 4)} {
		for _, d := range []float64{3, 19.05, 150} {
			b := offsetOne(t, p, Uniform(d).WithJoin(JoinRound), 0.001)
			a, l := p.SignedArea(), p.ArcLength(1e-9)
			dA := b.SignedArea() - (a + l*d + math.Pi*d*d)
			dL := b.ArcLength(1e-9) - (l + 2*math.Pi*d)
			t.Logf("%s %g: dA %.5f dL %.6f pieces %d", name, d, dA, dL, b.Len())
		}
	}
}

func TestSwallow(t *testing.T) {
	for _, tol := range []float64{0.01, 0.001, 1e-4} {
		b := offsetOne(t, ellipse(240, 180, 32), Uniform(-150), tol)
		t.Logf("area %.4f tip %.5f pieces %d", b.SignedArea(), b.Bounds().Max.X, b.Len())
	}
}

func TestSlot(t *testing.T) {
	p := Polygon(plane.Point{}, plane.Point{X: 600}, plane.Point{X: 600, Y: 200}, plane.Point{X: 315, Y: 200}, plane.Point{X: 315, Y: 50}, plane.Point{X: 285, Y: 50}, plane.Point{X: 285, Y: 200}, plane.Point{Y: 200})
	for _, d := range []float64{14, 15, 16, 19.05, -20, -50, -99} {
		r, err := p.Offset(Uniform(d).WithJoin(JoinRound), 0.001)
		t.Log(d, err, len(r.Outlines), len(r.Holes), r.Area())
	}
	if _, err := p.Offset(Uniform(-101), 0.001); err == nil {
		t.Error("?")
	} else {
		t.Log(err)
	}
}

func TestPer(t *testing.T) {
	b := offsetOne(t, rectangle(480, 460), ByPiece([]float64{10, 20, -5, 0}), 0.001)
	t.Log(b.SignedArea()-(480+20+0)*(460+10-5), b.Len(), b.Sources)
}
