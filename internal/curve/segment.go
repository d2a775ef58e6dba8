package curve

import "fairedge/internal/plane"

// Segment is one piece of a path: a straight line or a cubic Bezier, in
// millimetres. A line keeps its inner control points at its thirds, so that
// every formula for cubics holds for it too; Straight records that it is exactly
// straight by intent, not by chance. Immutable; build with Line or Cubic.
type Segment struct {
	P0, P1, P2, P3 plane.Point
	Straight       bool
}

// Line returns the straight segment from a to b.
func Line(a, b plane.Point) Segment {
	return Segment{a, a.Lerp(b, 1.0/3), a.Lerp(b, 2.0/3), b, true}
}

// Cubic returns the cubic Bezier with the given control points.
func Cubic(p0, p1, p2, p3 plane.Point) Segment { return Segment{P0: p0, P1: p1, P2: p2, P3: p3} }

// At returns the point at parameter t in [0, 1].
func (s Segment) At(t float64) plane.Point {
	if s.Straight {
		return s.P0.Lerp(s.P3, t)
	}
	u := 1 - t
	b0, b1, b2, b3 := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
	return plane.Point{
		X: b0*s.P0.X + b1*s.P1.X + b2*s.P2.X + b3*s.P3.X,
		Y: b0*s.P0.Y + b1*s.P1.Y + b2*s.P2.Y + b3*s.P3.Y,
	}
}

// Derivative returns dP/dt at parameter t, in millimetres per unit of t.
func (s Segment) Derivative(t float64) plane.Vec {
	if s.Straight {
		return s.P3.Sub(s.P0)
	}
	u := 1 - t
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	return a.Scale(3 * u * u).Add(b.Scale(6 * u * t)).Add(c.Scale(3 * t * t))
}

// SecondDerivative returns d²P/dt² at parameter t.
func (s Segment) SecondDerivative(t float64) plane.Vec {
	if s.Straight {
		return plane.Vec{}
	}
	a := s.P2.Sub(s.P1).Sub(s.P1.Sub(s.P0))
	b := s.P3.Sub(s.P2).Sub(s.P2.Sub(s.P1))
	return a.Scale(6 * (1 - t)).Add(b.Scale(6 * t))
}

// Reversed returns the same piece travelled from end to start.
func (s Segment) Reversed() Segment { return Segment{s.P3, s.P2, s.P1, s.P0, s.Straight} }

// Split cuts the segment at parameter t by de Casteljau's rule; the two parts
// trace the same points.
func (s Segment) Split(t float64) (before, after Segment) {
	if s.Straight {
		m := s.At(t)
		return Line(s.P0, m), Line(m, s.P3)
	}
	ab, bc, cd := s.P0.Lerp(s.P1, t), s.P1.Lerp(s.P2, t), s.P2.Lerp(s.P3, t)
	abc, bcd := ab.Lerp(bc, t), bc.Lerp(cd, t)
	m := abc.Lerp(bcd, t)
	return Cubic(s.P0, ab, abc, m), Cubic(m, bcd, cd, s.P3)
}
