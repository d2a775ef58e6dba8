package curve

import "fairedge/internal/plane"

// Transform returns the path moved without stretching.
func (p Path) Transform(targetFromSource plane.Rigid) Path { return p.Map(targetFromSource.Apply) }

// Mirrored returns the mirror image about the line through the point along the
// direction (any length but 0). The order of travel is turned round, so that a
// counter-clockwise outline stays counter-clockwise; piece i becomes piece n-1-i.
func (p Path) Mirrored(through plane.Point, along plane.Vec) Path {
	u := along.Unit()
	return p.Map(func(q plane.Point) plane.Point {
		across := u.TurnLeft()
		return q.Add(across.Scale(-2 * q.Sub(through).Dot(across)))
	}).Reversed()
}

// Scaled returns the path stretched evenly by the factor about the point; a
// negative or zero factor makes no outline.
func (p Path) Scaled(factor float64, about plane.Point) Path {
	return p.Map(func(q plane.Point) plane.Point { return about.Lerp(q, factor) })
}
