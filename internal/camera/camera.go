package camera

import (
	"math"

	"fairedge/internal/photo"
)

// Pose places a camera: CameraFromBench(X) = R X + T.
type Pose struct {
	R Mat3 // a rotation
	T Vec3 // the bench's origin in the camera frame, mm
}

// Apply returns the bench point x in the camera frame.
func (p Pose) Apply(x Vec3) Vec3 { return p.R.Apply(x).Add(p.T) }

// Position returns where the camera stands, bench frame, mm.
func (p Pose) Position() Vec3 { return p.R.Transposed().Apply(p.T).Scale(-1) }

// Turned returns the pose after the left perturbation R -> exp([w]×) R and
// T -> T + d: the turn is about the camera's axes and leaves T alone. This is the
// parametrisation of the Jacobians below.
func (p Pose) Turned(w, d Vec3) Pose {
	return Pose{RotationFromVector(w).Times(p.R).Orthonormalised(), p.T.Add(d)}
}

// Camera is a lens at a place.
type Camera struct {
	Lens            Lens
	CameraFromBench Pose
}

// PhotoFromBench returns the pixel that sees the bench point x (mm, z up), and
// false when x lies behind the camera.
func (c Camera) PhotoFromBench(x Vec3) (photo.Point, bool) {
	q := c.CameraFromBench.Apply(x)
	if !(q[2] > 0) {
		return photo.Point{X: math.NaN(), Y: math.NaN()}, false
	}
	return c.Lens.PhotoFromNormal(Normal{q[0] / q[2], q[1] / q[2]}), true
}

// The order of a camera's own parameters in a Jacobian: lens, then pose.
const (
	ParamLogF  = iota // natural logarithm of F
	ParamCx           // px
	ParamCy           // px
	ParamK1           //
	ParamK2           //
	ParamP1           //
	ParamP2           //
	ParamTurn         // three, rad, about the camera's axes (left perturbation)
	_                 //
	_                 //
	ParamShift        // three, mm, along the camera's axes
	_                 //
	_                 //
	ParamCount        // how many there are
)

// Jacobian is the derivative of one pixel position: row 0 of u, row 1 of v.
type Jacobian struct {
	ByCamera [2][ParamCount]float64 // by the camera's parameters
	ByBench  [2]Vec3                // by the bench point, px per mm
}

// Project is PhotoFromBench with its derivatives. With q = R x + T, n = q/z and
// d = Distort(n):
//
//	∂n/∂q = 1/z [1 0 -n_x; 0 1 -n_y],  ∂q/∂w = -[R x]×,  ∂q/∂T = I,  ∂q/∂x = R
func (c Camera) Project(x Vec3) (photo.Point, Jacobian, bool) {
	rx := c.CameraFromBench.R.Apply(x)
	q := rx.Add(c.CameraFromBench.T)
	if !(q[2] > 0) {
		return photo.Point{X: math.NaN(), Y: math.NaN()}, Jacobian{}, false
	}
	n := Normal{q[0] / q[2], q[1] / q[2]}
	p := c.Lens.PhotoFromNormal(n)
	var j Jacobian
	c.Lens.byLens(n, &j)
	d := c.Lens.DistortJacobian(n)
	for row := range 2 {
		k := c.Lens.F / q[2]
		byQ := Vec3{k * d[row][0], k * d[row][1], -k * (d[row][0]*n.X + d[row][1]*n.Y)}
		// byQ · (w × rx) = w · (rx × byQ)
		turn := rx.Cross(byQ)
		copy(j.ByCamera[row][ParamTurn:], turn[:])
		copy(j.ByCamera[row][ParamShift:], byQ[:])
		j.ByBench[row] = c.CameraFromBench.R.Transposed().Apply(byQ)
	}
	return p, j, true
}

// byLens fills the derivatives by the lens's own parameters.
func (l Lens) byLens(n Normal, j *Jacobian) {
	x, y := n.X, n.Y
	r2 := x*x + y*y
	d := l.Distort(n)
	u, v := &j.ByCamera[0], &j.ByCamera[1]
	u[ParamLogF], v[ParamLogF] = l.F*d.X, l.F*d.Y
	u[ParamCx], v[ParamCy] = 1, 1
	u[ParamK1], v[ParamK1] = l.F*x*r2, l.F*y*r2
	u[ParamK2], v[ParamK2] = l.F*x*r2*r2, l.F*y*r2*r2
	u[ParamP1], v[ParamP1] = l.F*2*x*y, l.F*(r2+2*y*y)
	u[ParamP2], v[ParamP2] = l.F*(r2+2*x*x), l.F*2*x*y
}
