package plane

import "math"

// Rigid moves the plane without stretching it: a turn about the origin, then a
// shift. Name a Rigid target-from-source: PlaneFromCard.Apply(cardPoint). The
// zero value is not valid (it has no direction); use Identity.
type Rigid struct {
	Cos, Sin float64 // of the counter-clockwise turn
	Shift    Vec     // millimetres, applied after the turn
}

// Identity returns the motion that leaves every point where it is.
func Identity() Rigid { return Rigid{Cos: 1} }

// RigidFromAngle returns the turn by radians (counter-clockwise) followed by shift.
func RigidFromAngle(radians float64, shift Vec) Rigid {
	sin, cos := math.Sincos(radians)
	return Rigid{cos, sin, shift}
}

// Apply returns the image of p.
func (m Rigid) Apply(p Point) Point {
	return Point{m.Cos*p.X - m.Sin*p.Y + m.Shift.X, m.Sin*p.X + m.Cos*p.Y + m.Shift.Y}
}

// ApplyVec returns the image of a direction: turned, not shifted.
func (m Rigid) ApplyVec(v Vec) Vec {
	return Vec{m.Cos*v.X - m.Sin*v.Y, m.Sin*v.X + m.Cos*v.Y}
}

// After returns the motion that first does inner and then m:
// CFromB.After(BFromA) is CFromA.
func (m Rigid) After(inner Rigid) Rigid {
	return Rigid{
		Cos:   m.Cos*inner.Cos - m.Sin*inner.Sin,
		Sin:   m.Sin*inner.Cos + m.Cos*inner.Sin,
		Shift: m.ApplyVec(inner.Shift).Add(m.Shift),
	}
}

// Inverse returns the motion that undoes m.
func (m Rigid) Inverse() Rigid {
	back := Rigid{Cos: m.Cos, Sin: -m.Sin}
	back.Shift = back.ApplyVec(m.Shift).Neg()
	return back
}

// Angle returns the turn in radians, in (-π, π].
func (m Rigid) Angle() float64 { return math.Atan2(m.Sin, m.Cos) }

// BestRigid returns the motion that carries the source points onto the target
// points with the least sum of squared distances. Both slices have one length,
// at least 2; pairs are by index.
//
// With both sets about their centroids, Σ|R s - t|² is least when the turn has
// the angle atan2(Σ s×t, Σ s·t) (the planar case of Kabsch, "A solution for the
// best rotation to relate two sets of vectors", Acta Cryst. A32, 1976).
func BestRigid(source, target []Point) Rigid {
	cs, ct := centroid(source), centroid(target)
	var dot, cross float64
	for i := range source {
		s, t := source[i].Sub(cs), target[i].Sub(ct)
		dot += s.Dot(t)
		cross += s.Cross(t)
	}
	m := Identity()
	if h := math.Hypot(dot, cross); h > 0 {
		m.Cos, m.Sin = dot/h, cross/h
	}
	m.Shift = ct.Sub(m.Apply(cs))
	return m
}

func centroid(points []Point) Point {
	var c Point
	for _, p := range points {
		c.X += p.X
		c.Y += p.Y
	}
	n := float64(len(points))
	return Point{c.X / n, c.Y / n}
}
