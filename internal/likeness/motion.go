package likeness

import (
	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Motion lays one outline on another: first it is turned over left to right (x becomes -x)
// if Flipped, then enlarged by Scale about the origin, then turned and shifted by Rigid.
// Name it target-from-source. The zero value is not valid; use Unmoved.
type Motion struct {
	Flipped bool
	Scale   float64
	Rigid   plane.Rigid
}

// Unmoved returns the motion that leaves every point where it is.
func Unmoved() Motion { return Motion{Scale: 1, Rigid: plane.Identity()} }

// Apply returns the image of p.
func (m Motion) Apply(p plane.Point) plane.Point {
	if m.Flipped {
		p.X = -p.X
	}
	return m.Rigid.Apply(plane.Point{X: m.Scale * p.X, Y: m.Scale * p.Y})
}

// ApplyVec returns the image of a direction or difference: flipped, enlarged, turned, not
// shifted.
func (m Motion) ApplyVec(v plane.Vec) plane.Vec {
	if m.Flipped {
		v.X = -v.X
	}
	return m.Rigid.ApplyVec(v.Scale(m.Scale))
}

// Path returns the image of a closed outline, counter-clockwise again.
func (m Motion) Path(p curve.Path) curve.Path {
	moved := p.Map(m.Apply)
	if m.Flipped {
		return moved.Reversed()
	}
	return moved
}

// Inverse returns the motion that undoes m.
func (m Motion) Inverse() Motion {
	// q = R S F p + t, with F its own inverse: p = S⁻¹ F R⁻¹ (q - t), and F R⁻¹ = R F. Both
	// stand in the order flip, scale, turn: p = R' S⁻¹ F q + t'.
	inverse := Motion{Flipped: m.Flipped, Scale: 1 / m.Scale, Rigid: plane.Rigid{Cos: m.Rigid.Cos, Sin: -m.Rigid.Sin}}
	if m.Flipped {
		inverse.Rigid.Sin = m.Rigid.Sin
	}
	origin := inverse.Apply(plane.Point{X: m.Rigid.Shift.X, Y: m.Rigid.Shift.Y})
	inverse.Rigid.Shift = plane.Vec{X: -origin.X, Y: -origin.Y}
	return inverse
}

// after returns the motion that first does inner and then the rigid motion and scaling of
// a small correction, which does not flip.
func (m Motion) corrected(c Motion) Motion {
	out := Motion{Flipped: m.Flipped, Scale: m.Scale * c.Scale}
	turn := plane.Rigid{Cos: c.Rigid.Cos, Sin: c.Rigid.Sin}.After(plane.Rigid{Cos: m.Rigid.Cos, Sin: m.Rigid.Sin})
	shift := c.Apply(plane.Point{X: m.Rigid.Shift.X, Y: m.Rigid.Shift.Y})
	out.Rigid = plane.Rigid{Cos: turn.Cos, Sin: turn.Sin, Shift: plane.Vec(shift)}
	return out
}
