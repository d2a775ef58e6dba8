package curve

import (
	"math"

	"fairedge/internal/plane"
)

// Tangent returns the unit direction of travel at t in [0, 1]. Where the
// derivative vanishes (a control point on its end point) it is the limit from
// inside the piece; a piece of no extent has the zero vector.
func (s Segment) Tangent(t float64) plane.Vec {
	d := s.Derivative(t)
	length := d.Length()
	if length > 0 && length > 1e-6*math.Abs(s.P3.X-s.P0.X+s.P3.Y-s.P0.Y) {
		return d.Scale(1 / length) // the usual case, without the cost of the size
	}
	size := s.handleSize()
	if length > 1e-9*size {
		return d.Unit()
	}
	if size == 0 {
		return plane.Vec{}
	}
	// Near a zero of the derivative it is t'' times the step; going in from the
	// end 1 the step is negative.
	dd := s.SecondDerivative(t)
	if t > 0.5 {
		dd = dd.Neg()
	}
	if dd.Length() > 1e-9*size {
		return dd.Unit()
	}
	return s.P3.Sub(s.P0).Unit()
}

// handleSize is the longest of the three legs of the control polygon, in mm: the
// scale against which a derivative counts as zero.
func (s Segment) handleSize() float64 {
	return math.Max(s.P1.Sub(s.P0).Length(), math.Max(s.P2.Sub(s.P1).Length(), s.P3.Sub(s.P2).Length()))
}

// OutwardNormal returns the unit vector to the right of travel at t: along a
// counter-clockwise outline it points out of the shape.
func (s Segment) OutwardNormal(t float64) plane.Vec { return s.Tangent(t).TurnRight() }

// Curvature returns the signed curvature at t in 1/mm: positive where the piece
// bends to the left, as a counter-clockwise circle does; 1/R on a circle of
// radius R. A line has 0; where the derivative vanishes the value is not finite.
func (s Segment) Curvature(t float64) float64 {
	if s.Straight {
		return 0
	}
	d := s.Derivative(t)
	l := d.Length()
	return d.Cross(s.SecondDerivative(t)) / (l * l * l)
}

// Turn returns the signed angle in radians through which the tangent turns along
// the piece (left positive), not reduced to a circle: a loop shows as ±2π and more.
func (s Segment) Turn() float64 {
	if s.Straight {
		return 0
	}
	// The derivative runs along the parabola with control vectors h0, h1, h2. The
	// straight way from h0 to h2 turns by less than π; if parabola and straight way
	// enclose the origin, they differ by a full turn.
	h0, h1, h2 := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	a, b, c := plane.Point(h0), plane.Point(h1), plane.Point(h2)
	loop := ClosedPath(Cubic(a, a.Lerp(b, 2.0/3), c.Lerp(b, 2.0/3), c), Line(c, a))
	return s.Tangent(0).AngleTo(s.Tangent(1)) + 2*math.Pi*float64(loop.Winding(plane.Point{}))
}

// TurnAtJoint returns the signed angle in radians, in (-π, π], between the end of
// the piece before joint i and the start of piece i: 0 where the path runs on
// smoothly, π/2 at a convex right corner of a counter-clockwise outline, negative
// at a concave one. Joint 0 of an open path has no piece before it and gives 0.
func (p Path) TurnAtJoint(i int) float64 {
	n := len(p.segments)
	if i == 0 && !p.closed {
		return 0
	}
	before, after := p.segments[(i+n-1)%n], p.segments[i]
	return before.Tangent(1).AngleTo(after.Tangent(0))
}

// Corners returns the joints where the path turns by more than the given angle in
// radians, in order.
func (p Path) Corners(sharperThan float64) []int {
	var corners []int
	for i := range p.segments {
		if math.Abs(p.TurnAtJoint(i)) > sharperThan {
			corners = append(corners, i)
		}
	}
	return corners
}
