// Package plane gives the bench its coordinates: points, vectors and boxes in
// millimetres on a flat plane seen from above.
//
//	y (away from the person)
//	^
//	|      counter-clockwise is positive:
//	|      Cross(x axis, y axis) = +1
//	+-----> x (to the right)
//
// Every outline in the program runs counter-clockwise, so its inside lies to
// the left of the direction of travel, its outward normal to the right, and its
// signed area is positive.
package plane

import "math"

// Point is a place on the bench, in millimetres, y up. It never converts to or
// from photo.Point by assignment; package measure alone does that.
type Point struct{ X, Y float64 }

// Vec is a displacement on the bench, in millimetres. Points and vectors have
// one layout and two meanings: a point plus a point is not defined.
type Vec struct{ X, Y float64 }

// Add returns the point displaced by v.
func (p Point) Add(v Vec) Point { return Point{p.X + v.X, p.Y + v.Y} }

// Sub returns the vector from q to p.
func (p Point) Sub(q Point) Vec { return Vec{p.X - q.X, p.Y - q.Y} }

// Lerp returns the point a share t of the way from p to q; t = 0 gives p.
func (p Point) Lerp(q Point, t float64) Point {
	return Point{p.X + t*(q.X-p.X), p.Y + t*(q.Y-p.Y)}
}

// DistanceTo returns the distance between p and q in millimetres.
func (p Point) DistanceTo(q Point) float64 { return math.Hypot(p.X-q.X, p.Y-q.Y) }

// DistanceSqTo returns the square of the distance between p and q, in mm².
func (p Point) DistanceSqTo(q Point) float64 {
	dx, dy := p.X-q.X, p.Y-q.Y
	return dx*dx + dy*dy
}

// IsFinite reports whether both coordinates are ordinary numbers.
func (p Point) IsFinite() bool {
	return !math.IsNaN(p.X+p.Y) && !math.IsInf(p.X, 0) && !math.IsInf(p.Y, 0)
}

// Add returns v + w.
func (v Vec) Add(w Vec) Vec { return Vec{v.X + w.X, v.Y + w.Y} }

// Sub returns v - w.
func (v Vec) Sub(w Vec) Vec { return Vec{v.X - w.X, v.Y - w.Y} }

// Scale returns v stretched by the plain number s.
func (v Vec) Scale(s float64) Vec { return Vec{s * v.X, s * v.Y} }

// Neg returns -v.
func (v Vec) Neg() Vec { return Vec{-v.X, -v.Y} }

// Dot returns the scalar product of v and w, in mm².
func (v Vec) Dot(w Vec) float64 { return v.X*w.X + v.Y*w.Y }

// Cross returns the z component of v × w, in mm²: positive when w lies to the
// left of v (counter-clockwise). Cross(v, w) = -Cross(w, v).
func (v Vec) Cross(w Vec) float64 { return v.X*w.Y - v.Y*w.X }

// Length returns the length of v in millimetres.
func (v Vec) Length() float64 { return math.Hypot(v.X, v.Y) }

// LengthSq returns the square of the length of v, in mm².
func (v Vec) LengthSq() float64 { return v.X*v.X + v.Y*v.Y }

// Unit returns v at length 1, or the zero vector when v has no direction.
func (v Vec) Unit() Vec {
	l := v.Length()
	if l == 0 {
		return Vec{}
	}
	return Vec{v.X / l, v.Y / l}
}

// TurnLeft returns v turned by +90 degrees: TurnLeft(x axis) = y axis, and
// v.Cross(v.TurnLeft()) = |v|² > 0.
func (v Vec) TurnLeft() Vec { return Vec{-v.Y, v.X} }

// TurnRight returns v turned by -90 degrees; along a counter-clockwise outline
// it points outward.
func (v Vec) TurnRight() Vec { return Vec{v.Y, -v.X} }

// Angle returns the direction of v in radians, in (-π, π], counter-clockwise
// from the x axis.
func (v Vec) Angle() float64 { return math.Atan2(v.Y, v.X) }

// AngleTo returns the signed turn from v to w in radians, in (-π, π]; positive
// is a left turn.
func (v Vec) AngleTo(w Vec) float64 { return math.Atan2(v.Cross(w), v.Dot(w)) }
