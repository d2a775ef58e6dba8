package curve

import "fairedge/internal/plane"

// Bounds returns the smallest upright box that holds the piece, exact to rounding:
// the ends and the places where dx/dt or dy/dt is 0.
func (s Segment) Bounds() plane.Rect {
	r := plane.RectFromPoints(s.P0, s.P3)
	if s.Straight || (r.Contains(s.P1) && r.Contains(s.P2)) {
		return r // the control points hull the curve
	}
	var buffer [4]float64
	for _, t := range s.turningPoints(buffer[:0]) {
		r = r.Include(s.At(t))
	}
	return r
}

// turningPoints appends the parameters inside (0, 1) where the piece stops
// rising or falling in x or in y.
func (s Segment) turningPoints(out []float64) []float64 {
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	out = quadraticRoots(out, a.X-2*b.X+c.X, 2*(b.X-a.X), a.X)
	return quadraticRoots(out, a.Y-2*b.Y+c.Y, 2*(b.Y-a.Y), a.Y)
}

// hull returns the box of the control points, which holds the piece but may be
// larger than Bounds.
func (s Segment) hull() plane.Rect { return plane.RectFromPoints(s.P0, s.P1, s.P2, s.P3) }

// Bounds returns the smallest upright box that holds the path, exact to rounding.
func (p Path) Bounds() plane.Rect {
	r := plane.EmptyRect()
	for _, s := range p.segments {
		r = r.Union(s.Bounds())
	}
	return r
}
