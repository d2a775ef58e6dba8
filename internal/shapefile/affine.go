package shapefile

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// affine is an affine map in SVG's order: x' = a x + c y + e, y' = b x + d y + f.
type affine struct{ a, b, c, d, e, f float64 }

func identity() affine { return affine{a: 1, d: 1} }

func scaling(x, y float64) affine { return affine{a: x, d: y} }

func translation(x, y float64) affine { return affine{1, 0, 0, 1, x, y} }

func rotation(radians float64) affine {
	sin, cos := math.Sincos(radians)
	return affine{cos, sin, -sin, cos, 0, 0}
}

// after returns the map that first does inner and then m.
func (m affine) after(inner affine) affine {
	return affine{
		a: m.a*inner.a + m.c*inner.b, b: m.b*inner.a + m.d*inner.b,
		c: m.a*inner.c + m.c*inner.d, d: m.b*inner.c + m.d*inner.d,
		e: m.a*inner.e + m.c*inner.f + m.e, f: m.b*inner.e + m.d*inner.f + m.f,
	}
}

func (m affine) apply(p plane.Point) plane.Point {
	return plane.Point{X: m.a*p.X + m.c*p.Y + m.e, Y: m.b*p.X + m.d*p.Y + m.f}
}

// stretch returns by how much the map lengthens a vector at most: the larger singular
// value of its linear part.
func (m affine) stretch() float64 {
	s, d := m.a*m.a+m.b*m.b+m.c*m.c+m.d*m.d, m.a*m.d-m.b*m.c
	return math.Sqrt((s + math.Sqrt(math.Max(0, s*s-4*d*d))) / 2)
}

// arcError is how far, in mm, the cubics that stand for an arc of a circle or ellipse may
// lie from it: a hundredth of what is measured. Smaller: more pieces for nothing.
const arcError = 1e-4

// arc returns cubics along the image of the unit circle under m, from the angle from
// over sweep (radians, counter-clockwise positive), within arcError.
//
// A cubic over the angle t with handles 4/3 tan(t/4) meets the circle at both ends and
// the middle and leaves it, outward only, by 2/27 sin⁶(t/4)/cos²(t/4) of the radius at
// most; the map stretches that by its larger singular value at most.
func arc(m affine, from, sweep float64) []curve.Segment {
	n := max(1, int(math.Ceil(math.Abs(sweep)/mostArcTurn)))
	for ; n < mostArcPieces; n++ {
		t := math.Abs(sweep) / float64(n)
		if 2.0/27*math.Pow(math.Sin(t/4), 6)/math.Pow(math.Cos(t/4), 2)*m.stretch() <= arcError {
			break
		}
	}
	return arcOf(m, from, sweep, n)
}

// arcOf is arc with n cubics.
func arcOf(m affine, from, sweep float64, n int) []curve.Segment {
	step := sweep / float64(n)
	handle := 4.0 / 3 * math.Tan(step/4)
	segments := make([]curve.Segment, n)
	for i := range segments {
		s0, c0 := math.Sincos(from + float64(i)*step)
		s1, c1 := math.Sincos(from + float64(i+1)*step)
		segments[i] = curve.Cubic(
			m.apply(plane.Point{X: c0, Y: s0}), m.apply(plane.Point{X: c0 - handle*s0, Y: s0 + handle*c0}),
			m.apply(plane.Point{X: c1 + handle*s1, Y: s1 - handle*c1}), m.apply(plane.Point{X: c1, Y: s1}),
		)
	}
	return segments
}

// mostArcTurn is the greatest angle of one cubic of an arc, radians: less than the 30
// degrees from which package shape takes a tight piece for a rounded corner, so that it
// is up to the maker of the arc to say what is one.
const mostArcTurn = math.Pi / 6.1

// mostArcPieces bounds the cubics of one arc; it is enough for a radius of kilometres.
const mostArcPieces = 360
