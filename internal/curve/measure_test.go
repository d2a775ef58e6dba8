package curve

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/plane"
)

// circle returns the circle of radius r about the centre in n cubics; for n = 64 its
// radius is true to 1e-11 of itself (see arcCubics).
func circle(centre plane.Point, r float64, n int) Path {
	return ellipse(r, r, n).Map(func(p plane.Point) plane.Point { return p.Add(plane.Vec(centre)) })
}

// parabola returns y = x² for x from 0 to b as a cubic: a quadratic with its degree
// raised.
func parabola(b float64) Segment {
	p0, p1, p2 := plane.Point{}, plane.Point{X: b / 2}, plane.Point{X: b, Y: b * b}
	return Cubic(p0, p0.Lerp(p1, 2.0/3), p2.Lerp(p1, 2.0/3), p2)
}

// randomCubic has its control points anywhere in a square of 200 mm: loops, cusps
// and inflections included.
func randomCubic(r *rand.Rand) Segment {
	point := func() plane.Point { return plane.Point{X: 200 * r.Float64(), Y: 200 * r.Float64()} }
	return Cubic(point(), point(), point(), point())
}

// blob is a smooth random outline: cubics through points of a circle whose radius is
// changed by up to spread, with tangents by the neighbours (Catmull and Rom, "A class
// of local interpolating splines", 1974).
func blob(r *rand.Rand, n int, radius, spread float64) Path {
	points := make([]plane.Point, n)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		rr := radius * (1 + spread*(2*r.Float64()-1))
		points[i] = plane.Point{X: rr * cos, Y: rr * sin}
	}
	tangent := func(i int) plane.Vec { return points[(i+1)%n].Sub(points[(i+n-1)%n]).Scale(1.0 / 6) }
	pieces := make([]Segment, n)
	for i := range pieces {
		j := (i + 1) % n
		pieces[i] = Cubic(points[i], points[i].Add(tangent(i)), points[j].Add(tangent(j).Neg()), points[j])
	}
	return ClosedPath(pieces...)
}

func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 1)) }

func TestArcLengthOfParabola(t *testing.T) {
	for _, b := range []float64{0.5, 3, 30} {
		// ∫ sqrt(1 + 4x²) dx from 0 to b.
		want := b/2*math.Sqrt(1+4*b*b) + math.Asinh(2*b)/4
		for e := 1; e <= 10; e++ {
			tolerance := math.Pow(10, -float64(e))
			if got := parabola(b).ArcLength(tolerance); math.Abs(got-want) > tolerance {
				t.Errorf("parabola(%g).ArcLength(%g) = %.12f, want %.12f", b, tolerance, got, want)
			}
		}
	}
}

func TestArcLengthAtCusp(t *testing.T) {
	// P = (100 t², 100 t³) for t in [-1, 1], the semicubical parabola, has its cusp in
	// the middle and the length 2·100/27 (13^1.5 - 8) (Neile 1657).
	s := Cubic(plane.Point{X: 100, Y: -100}, plane.Point{X: -100.0 / 3, Y: 100}, plane.Point{X: -100.0 / 3, Y: -100}, plane.Point{X: 100, Y: 100})
	if p := s.At(0.5); p.DistanceTo(plane.Point{}) > 1e-9 {
		t.Fatalf("the cusp is at %v, want the origin", p)
	}
	want := 2 * 100.0 / 27 * (math.Pow(13, 1.5) - 8)
	if got := s.ArcLength(1e-6); math.Abs(got-want) > 1e-6 {
		t.Errorf("ArcLength = %.9f, want %.9f", got, want)
	}
}

func TestCircleMeasures(t *testing.T) {
	centre := plane.Point{X: 3000, Y: -700}
	p := circle(centre, 60, 64)
	const eps = 1e-6
	if got, want := p.SignedArea(), math.Pi*3600; math.Abs(got-want) > eps {
		t.Errorf("SignedArea = %.9f, want %.9f", got, want)
	}
	if got := p.Reversed().SignedArea(); math.Abs(got+math.Pi*3600) > eps {
		t.Errorf("SignedArea of the reverse = %.9f, want -π 3600", got)
	}
	if got, want := p.ArcLength(1e-9), 120*math.Pi; math.Abs(got-want) > eps {
		t.Errorf("ArcLength = %.9f, want %.9f", got, want)
	}
	for i := range p.Len() {
		if k := p.Segment(i).Curvature(0.3); math.Abs(k-1.0/60) > 1e-6 {
			t.Errorf("curvature of piece %d = %.9f, want 1/60", i, k)
		}
		n := p.Segment(i).OutwardNormal(0.3)
		if out := p.Segment(i).At(0.3).Sub(centre).Unit(); n.Sub(out).Length() > 1e-7 {
			t.Errorf("outward normal of piece %d = %v, want %v", i, n, out)
		}
	}
	b := p.Bounds()
	want := plane.Rect{Min: plane.Point{X: 2940, Y: -760}, Max: plane.Point{X: 3060, Y: -640}}
	if b.Min.DistanceTo(want.Min) > eps || b.Max.DistanceTo(want.Max) > eps {
		t.Errorf("Bounds = %v, want %v", b, want)
	}
}

// TestBoundsAreExact turns an ellipse: its box is ±sqrt(a² cos² + b² sin²) by
// ±sqrt(a² sin² + b² cos²).
func TestBoundsAreExact(t *testing.T) {
	for _, angle := range []float64{0, 0.3, 1, 2.2} {
		sin, cos := math.Sincos(angle)
		b := ellipse(240, 180, 64).Transform(plane.RigidFromAngle(angle, plane.Vec{})).Bounds()
		w, h := 2*math.Hypot(240*cos, 180*sin), 2*math.Hypot(240*sin, 180*cos)
		if math.Abs(b.Width()-w) > 1e-6 || math.Abs(b.Height()-h) > 1e-6 {
			t.Errorf("turned by %g: %.7f × %.7f, want %.7f × %.7f", angle, b.Width(), b.Height(), w, h)
		}
	}
}

func TestBoundsHoldEverySample(t *testing.T) {
	r := seeded(1)
	for k := range 300 {
		s := randomCubic(r)
		sampled := plane.EmptyRect()
		for i := 0; i <= 2000; i++ {
			sampled = sampled.Include(s.At(float64(i) / 2000))
		}
		b := s.Bounds()
		// Between two samples the curve rises by at most 3·400/2000² of a bend.
		if grown := sampled.Grow(2e-3); !b.Grow(1e-9).Contains(sampled.Min) || !b.Grow(1e-9).Contains(sampled.Max) ||
			!grown.Contains(b.Min) || !grown.Contains(b.Max) {
			t.Errorf("cubic %d %v: Bounds = %v, samples span %v", k, s, b, sampled)
		}
	}
}

func TestAtLengthComesBack(t *testing.T) {
	p := ClosedPath(append(tPolygon().Segments()[:7], Cubic(plane.Point{Y: 110}, plane.Point{X: -30, Y: 80}, plane.Point{X: -30, Y: 20}, plane.Point{}))...)
	total := p.ArcLength(1e-9)
	for i := range 200 {
		want := total * (float64(i) + 0.5) / 200
		spot := p.AtLength(want, 1e-7)
		if got := p.LengthTo(spot, 1e-9); math.Abs(got-want) > 1e-7 {
			t.Errorf("LengthTo(AtLength(%g)) = %.9f", want, got)
		}
		if spot.Point.DistanceTo(p.Segment(spot.Piece).At(spot.T)) > 1e-12 {
			t.Errorf("the spot at %g has a point off its parameter", want)
		}
		round := p.AtLength(want-total, 1e-7)
		if round.Point.DistanceTo(spot.Point) > 1e-6 {
			t.Errorf("one lap back from %g: %v, want %v", want, round.Point, spot.Point)
		}
	}
}

// TestNearestMissesNothing compares with 4000 samples on curves that loop and turn
// back, the slow obvious way.
func TestNearestMissesNothing(t *testing.T) {
	r := seeded(2)
	for k := range 400 {
		s := randomCubic(r)
		q := plane.Point{X: 300*r.Float64() - 50, Y: 300*r.Float64() - 50}
		at, d := s.Nearest(q)
		if got := s.At(at).DistanceTo(q); math.Abs(got-d) > 1e-9 {
			t.Errorf("cubic %d: distance %.9f, but the point lies at %.9f", k, d, got)
		}
		for i := 0; i <= 4000; i++ {
			if got := s.At(float64(i) / 4000).DistanceTo(q); got < d-1e-9 {
				t.Errorf("cubic %d %v, point %v: Nearest gives %.9f at %g, but %.9f at %g", k, s, q, d, at, got, float64(i)/4000)
				break
			}
		}
	}
}

func TestNearestFromTheCentreOfACircle(t *testing.T) {
	// Every point is nearest: the quintic vanishes as nearly as it can.
	if _, d := circle(plane.Point{}, 60, 8).Nearest(plane.Point{}); math.Abs(d-60) > 1e-3 {
		t.Errorf("distance %.6f, want 60", d)
	}
}

func TestFlattenKeepsItsTolerance(t *testing.T) {
	r := seeded(3)
	for _, tolerance := range []float64{1, 0.1, 0.01} {
		for k := range 60 {
			s := randomCubic(r)
			points := OpenPath(s).Flatten(tolerance)
			n := len(points) - 1
			for i := range n {
				for j := range 20 {
					q := s.At((float64(i) + float64(j)/20) / float64(n))
					if _, d := Line(points[i], points[i+1]).Nearest(q); d > tolerance {
						t.Fatalf("cubic %d flattened to %g: a point lies %g off its chord", k, tolerance, d)
					}
				}
			}
		}
	}
}

func TestContains(t *testing.T) {
	e := ellipse(240, 180, 16)
	r := seeded(4)
	for range 3000 {
		q := plane.Point{X: 600*r.Float64() - 300, Y: 500*r.Float64() - 250}
		level := q.X*q.X/240/240 + q.Y*q.Y/180/180
		if math.Abs(level-1) < 1e-4 {
			continue
		}
		if got := e.Contains(q); got != (level < 1) {
			t.Errorf("Contains(%v) = %v, level %g", q, got, level)
		}
		if w := e.Reversed().Winding(q); (w == -1) != (level < 1) {
			t.Errorf("Winding round the reverse of %v = %d", q, w)
		}
	}
	// Rays through corners and along edges.
	p := tPolygon()
	for _, test := range []struct {
		x, y float64
		want bool
	}{{-1, 0, false}, {1, 1e-9, true}, {-1, 110, false}, {30, 109, true}, {30, 111, false}, {61, 110, true}, {300, 519, true}, {-5, 520, false}, {601, 50, false}} {
		if got := p.Contains(plane.Point{X: test.x, Y: test.y}); got != test.want {
			t.Errorf("Contains(%g, %g) = %v, want %v", test.x, test.y, got, test.want)
		}
	}
}

func TestIsSimple(t *testing.T) {
	loop := Cubic(plane.Point{}, plane.Point{X: 150, Y: 100}, plane.Point{X: -50, Y: 100}, plane.Point{X: 100})
	tests := []struct {
		name string
		path Path
		want bool
	}{
		{"rectangle", rectangle(480, 460), true},
		{"notched", tPolygon(), true},
		{"ellipse", ellipse(240, 180, 4), true},
		{"ellipse of two", ellipse(10, 10, 2), true},
		{"bow tie", Polygon(plane.Point{}, plane.Point{X: 10, Y: 10}, plane.Point{X: 10}, plane.Point{Y: 10}), false},
		{"looped cubic", ClosedPath(loop, Line(loop.P3, loop.P0)), false},
		{"spike that turns back", Polygon(plane.Point{}, plane.Point{X: 10}, plane.Point{X: 20}, plane.Point{X: 10}, plane.Point{Y: 10}), false},
		{"crossing a twentieth of a millimetre deep", Polygon(plane.Point{}, plane.Point{X: 100}, plane.Point{X: 100, Y: 100},
			plane.Point{X: 50, Y: -0.05}, plane.Point{Y: 100}), false},
	}
	for _, test := range tests {
		for i := range test.path.Len() {
			p := test.path.StartingAt(i)
			if got := p.IsSimple(); got != test.want {
				t.Errorf("%s started at %d: IsSimple = %v, want %v", test.name, i, got, test.want)
			}
			if got := p.Reversed().IsSimple(); got != test.want {
				t.Errorf("%s reversed, started at %d: IsSimple = %v, want %v", test.name, i, got, test.want)
			}
		}
	}
}

func TestTurns(t *testing.T) {
	p := tPolygon()
	for i := range p.Len() {
		want := math.Pi / 2
		if i == 4 || i == 5 {
			want = math.Pi / 2
		}
		if i == 3 || i == 6 {
			want = -math.Pi / 2
		}
		if got := p.TurnAtJoint(i); math.Abs(got-want) > 1e-12 {
			t.Errorf("TurnAtJoint(%d) = %g, want %g", i, got, want)
		}
	}
	if got := ellipse(240, 180, 4).Corners(1e-6); len(got) != 0 {
		t.Errorf("an ellipse has corners %v", got)
	}
	// All turns of a simple counter-clockwise outline add up to 2π (Hopf's
	// Umlaufsatz).
	r := seeded(5)
	for k := range 100 {
		b := blob(r, 9, 200, 0.3)
		if !b.IsSimple() {
			continue
		}
		sum := 0.0
		for i := range b.Len() {
			sum += b.Segment(i).Turn() + b.TurnAtJoint(i)
		}
		if math.Abs(sum-2*math.Pi) > 1e-9 {
			t.Errorf("blob %d turns by %.9f, want 2π", k, sum)
		}
	}
}

func TestTurnOfALoop(t *testing.T) {
	// The tangent runs from 45° through 180° to 315°... the loop of a cubic turns by
	// more than half a circle; a dense sum of small turns is the slow way.
	r := seeded(6)
	for k := range 300 {
		s := randomCubic(r)
		want, before := 0.0, s.Tangent(0)
		for i := 1; i <= 4000; i++ {
			after := s.Tangent(float64(i) / 4000)
			want += before.AngleTo(after)
			before = after
		}
		if got := s.Turn(); math.Abs(got-want) > 1e-9 {
			t.Errorf("cubic %d %v: Turn = %.9f, want %.9f", k, s, got, want)
		}
	}
}

func TestTangentAtPinchedEnd(t *testing.T) {
	a, b := plane.Point{X: 1, Y: 2}, plane.Point{X: 11, Y: 2}
	s := Cubic(a, a, plane.Point{X: 6, Y: 7}, b)
	if got, want := s.Tangent(0), (plane.Vec{X: 1, Y: 1}).Unit(); got.Sub(want).Length() > 1e-12 {
		t.Errorf("Tangent(0) = %v, want %v", got, want)
	}
	if got, want := s.Reversed().Tangent(1), (plane.Vec{X: -1, Y: -1}).Unit(); got.Sub(want).Length() > 1e-12 {
		t.Errorf("Tangent(1) of the reverse = %v, want %v", got, want)
	}
	if got := Cubic(a, a, b, b).Tangent(0); got.Sub(plane.Vec{X: 1}).Length() > 1e-12 {
		t.Errorf("Tangent(0) of a straight pinched cubic = %v", got)
	}
	if got := Cubic(a, a, a, a).Tangent(0.5); got != (plane.Vec{}) {
		t.Errorf("Tangent of a point = %v, want none", got)
	}
}

// TestMeasuresAreLaws: turning, mirroring, reversing or starting elsewhere changes no
// length, area or distance.
func TestMeasuresAreLaws(t *testing.T) {
	r := seeded(7)
	for k := range 50 {
		p := blob(r, 7, 200, 0.3)
		q := plane.Point{X: 250 * r.Float64(), Y: 250 * r.Float64()}
		_, distance := p.Nearest(q)
		turn := plane.RigidFromAngle(6*r.Float64(), plane.Vec{X: 1000 * r.Float64(), Y: -500})
		through, along := plane.Point{X: 10 * r.Float64()}, plane.Vec{X: r.Float64(), Y: 1}
		mirror := func(q plane.Point) plane.Point {
			return OpenPath(Line(q, q)).Mirrored(through, along).Segment(0).P0
		}
		tests := []struct {
			name string
			path Path
			q    plane.Point
			sign float64
		}{
			{"turned", p.Transform(turn), turn.Apply(q), 1},
			{"mirrored", p.Mirrored(through, along), mirror(q), 1},
			{"reversed", p.Reversed(), q, -1},
			{"restarted", p.StartingAt(3), q, 1},
		}
		for _, test := range tests {
			name := fmt.Sprintf("blob %d %s", k, test.name)
			if got, want := test.path.SignedArea(), test.sign*p.SignedArea(); math.Abs(got-want) > 1e-6 {
				t.Errorf("%s: area %.8f, want %.8f", name, got, want)
			}
			if got, want := test.path.ArcLength(1e-8), p.ArcLength(1e-8); math.Abs(got-want) > 1e-7 {
				t.Errorf("%s: length %.8f, want %.8f", name, got, want)
			}
			if _, got := test.path.Nearest(test.q); math.Abs(got-distance) > 1e-8 {
				t.Errorf("%s: distance %.9f, want %.9f", name, got, distance)
			}
			if got := test.path.Contains(test.q); got != p.Contains(q) {
				t.Errorf("%s: Contains = %v", name, got)
			}
			if got := test.path.CounterClockwise().SignedArea(); got < 0 {
				t.Errorf("%s: CounterClockwise left it clockwise", name)
			}
		}
	}
}

func BenchmarkNearest(b *testing.B) {
	p := blob(seeded(8), 12, 200, 0.3)
	for b.Loop() {
		p.Nearest(plane.Point{X: 90, Y: 35})
	}
}

func BenchmarkArcLength(b *testing.B) {
	p := blob(seeded(8), 12, 200, 0.3)
	for b.Loop() {
		p.ArcLength(1e-6)
	}
}

func BenchmarkIsSimple(b *testing.B) {
	p := blob(seeded(8), 12, 200, 0.3)
	for b.Loop() {
		p.IsSimple()
	}
}
