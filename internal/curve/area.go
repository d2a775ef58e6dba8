package curve

import "fairedge/internal/plane"

// SignedArea returns the area enclosed by the closed path in mm², positive when it
// runs counter-clockwise; an open path is closed by a straight line. It is exact
// (no sampling): by Green's theorem the area is ½∮ x dy - y dx, a polynomial
// integral on a cubic.
func (p Path) SignedArea() float64 {
	if len(p.segments) == 0 {
		return 0
	}
	// Taken about the first point, so that a path far from the origin loses no
	// digits.
	origin := p.segments[0].P0
	sum := 0.0
	for _, s := range p.segments {
		sum += s.sectorArea(origin)
	}
	end := p.segments[len(p.segments)-1].P3
	return sum + end.Sub(origin).Cross(p.segments[0].P0.Sub(origin))/2
}

// sectorArea returns ½∫ r×dr along the piece, with r from the origin: the signed
// area of the fan between them. For a cubic with control vectors a, b, c, d the
// Bernstein integrals give
//
//	(6 a×b + 3 a×c + a×d + 3 b×c + 3 b×d + 6 c×d) / 20.
func (s Segment) sectorArea(origin plane.Point) float64 {
	a, d := s.P0.Sub(origin), s.P3.Sub(origin)
	if s.Straight {
		return a.Cross(d) / 2
	}
	b, c := s.P1.Sub(origin), s.P2.Sub(origin)
	return (6*a.Cross(b) + 3*a.Cross(c) + a.Cross(d) + 3*b.Cross(c) + 3*b.Cross(d) + 6*c.Cross(d)) / 20
}

// IsCounterClockwise reports whether the path encloses a positive area.
func (p Path) IsCounterClockwise() bool { return p.SignedArea() > 0 }

// CounterClockwise returns the path, turned round if it runs clockwise.
func (p Path) CounterClockwise() Path {
	if p.SignedArea() < 0 {
		return p.Reversed()
	}
	return p
}
