// Package camera projects space into the photo: a pinhole, Brown's lens
// distortion, and where the camera stood.
//
// Camera frame: millimetres, x to the right and y down as in the photo, z out of
// the lens towards the scene; right-handed. Bench frame: millimetres, x and y in
// the bench plane as in package plane, z up from the bench, right-handed too, so
// a camera above the bench is turned by about half a turn about x: no mirror is
// involved, and y turns over in that rotation alone.
package camera

import (
	"math"

	"fairedge/internal/photo"
)

// Lens turns directions in the camera frame into pixels. The distortion is that
// of Brown ("Close-range camera calibration", Photogrammetric Engineering 37(8),
// 1971) with the sign and order of OpenCV's k1, k2, p1, p2.
//
//	r² = x² + y²
//	x' = x (1 + k1 r² + k2 r⁴) + 2 p1 x y + p2 (r² + 2 x²)
//	y' = y (1 + k1 r² + k2 r⁴) + p1 (r² + 2 y²) + 2 p2 x y
//	u  = F x' + Centre.X,  v = F y' + Centre.Y
type Lens struct {
	F      float64     // focal length, px; pixels are square
	Centre photo.Point // principal point, px
	K1, K2 float64     // radial distortion
	P1, P2 float64     // decentering distortion
}

// Normal is a direction in the camera frame as a point of the plane z = 1:
// tangents of the angles from the lens's axis, x right, y down.
type Normal struct{ X, Y float64 }

// Mat2 is a 2 x 2 matrix of derivatives, row by row.
type Mat2 [2][2]float64

// Inverse returns the inverse of m, and false when m has none.
func (m Mat2) Inverse() (Mat2, bool) {
	det := m[0][0]*m[1][1] - m[0][1]*m[1][0]
	if det == 0 || math.IsNaN(det) || math.IsInf(det, 0) {
		return Mat2{}, false
	}
	return Mat2{{m[1][1] / det, -m[0][1] / det}, {-m[1][0] / det, m[0][0] / det}}, true
}

// Distort returns where the lens bends the direction n to.
func (l Lens) Distort(n Normal) Normal {
	x, y := n.X, n.Y
	r2 := x*x + y*y
	radial := 1 + r2*(l.K1+r2*l.K2)
	return Normal{
		x*radial + 2*l.P1*x*y + l.P2*(r2+2*x*x),
		y*radial + l.P1*(r2+2*y*y) + 2*l.P2*x*y,
	}
}

// DistortJacobian returns the derivatives of Distort by x (first column) and y.
// The matrix is symmetric: Brown's distortion is a gradient field.
func (l Lens) DistortJacobian(n Normal) Mat2 {
	x, y := n.X, n.Y
	r2 := x*x + y*y
	radial := 1 + r2*(l.K1+r2*l.K2)
	slope := 2 * (l.K1 + 2*l.K2*r2) // d radial / d x is slope * x
	cross := slope*x*y + 2*l.P1*x + 2*l.P2*y
	return Mat2{
		{radial + slope*x*x + 2*l.P1*y + 6*l.P2*x, cross},
		{cross, radial + slope*y*y + 6*l.P1*y + 2*l.P2*x},
	}
}

// Newton's method on a smooth, nearly linear map gains digits quadratically:
// from a start 10 % off, five steps reach the last bit. Steps are counted only to
// end hopeless cases (beyond the rim where a strong barrel folds back).
const (
	undistortSteps     = 30
	undistortTolerance = 1e-13 // in tangents of angle: 1e-10 px
)

// Undistort returns the direction that Distort sends to d, converged to 1e-13,
// and false when there is none near (d lies beyond the rim where the polynomial
// folds back).
func (l Lens) Undistort(d Normal) (Normal, bool) {
	n := d
	for range undistortSteps {
		x, y := n.X, n.Y
		r2 := x*x + y*y
		radial := 1 + r2*(l.K1+r2*l.K2)
		slope := 2 * (l.K1 + 2*l.K2*r2)
		fx := x*radial + 2*l.P1*x*y + l.P2*(r2+2*x*x) - d.X
		fy := y*radial + l.P1*(r2+2*y*y) + 2*l.P2*x*y - d.Y
		a := radial + slope*x*x + 2*l.P1*y + 6*l.P2*x
		b := slope*x*y + 2*l.P1*x + 2*l.P2*y
		c := radial + slope*y*y + 6*l.P1*y + 2*l.P2*x
		det := a*c - b*b
		if !(det > 0 && a > 0) { // folded, or not a number
			return n, false
		}
		sx, sy := (c*fx-b*fy)/det, (a*fy-b*fx)/det
		n.X -= sx
		n.Y -= sy
		if math.Abs(sx)+math.Abs(sy) < undistortTolerance {
			return n, true
		}
	}
	return n, false
}

// PhotoFromNormal returns the pixel that sees the direction n.
func (l Lens) PhotoFromNormal(n Normal) photo.Point {
	d := l.Distort(n)
	return photo.Point{X: l.F*d.X + l.Centre.X, Y: l.F*d.Y + l.Centre.Y}
}

// NormalFromPhoto returns the direction that pixel p sees, and false beyond the
// rim of the lens model.
func (l Lens) NormalFromPhoto(p photo.Point) (Normal, bool) {
	return l.Undistort(Normal{(p.X - l.Centre.X) / l.F, (p.Y - l.Centre.Y) / l.F})
}
