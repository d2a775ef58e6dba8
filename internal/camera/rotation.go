package camera

import "math"

// Vec3 is a place or a displacement in space, in millimetres.
type Vec3 [3]float64

// Add returns v + w.
func (v Vec3) Add(w Vec3) Vec3 { return Vec3{v[0] + w[0], v[1] + w[1], v[2] + w[2]} }

// Sub returns v - w.
func (v Vec3) Sub(w Vec3) Vec3 { return Vec3{v[0] - w[0], v[1] - w[1], v[2] - w[2]} }

// Scale returns v stretched by the plain number s.
func (v Vec3) Scale(s float64) Vec3 { return Vec3{s * v[0], s * v[1], s * v[2]} }

// Dot returns the scalar product of v and w.
func (v Vec3) Dot(w Vec3) float64 { return v[0]*w[0] + v[1]*w[1] + v[2]*w[2] }

// Cross returns the vector product v × w, right-handed: x × y = z.
func (v Vec3) Cross(w Vec3) Vec3 {
	return Vec3{v[1]*w[2] - v[2]*w[1], v[2]*w[0] - v[0]*w[2], v[0]*w[1] - v[1]*w[0]}
}

// Length returns the length of v.
func (v Vec3) Length() float64 { return math.Sqrt(v.Dot(v)) }

// Mat3 is a 3 x 3 matrix, row by row: m[row][column].
type Mat3 [3]Vec3

// IdentityMat3 returns the matrix that changes nothing.
func IdentityMat3() Mat3 { return Mat3{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}} }

// Apply returns m v.
func (m Mat3) Apply(v Vec3) Vec3 { return Vec3{m[0].Dot(v), m[1].Dot(v), m[2].Dot(v)} }

// Times returns the matrix product m n: the map that first does n, then m.
func (m Mat3) Times(n Mat3) Mat3 {
	t := n.Transposed()
	var p Mat3
	for i := range p {
		p[i] = t.Apply(m[i])
	}
	return p
}

// Transposed returns m with rows and columns exchanged; of a rotation it is the
// inverse.
func (m Mat3) Transposed() Mat3 {
	return Mat3{
		{m[0][0], m[1][0], m[2][0]},
		{m[0][1], m[1][1], m[2][1]},
		{m[0][2], m[1][2], m[2][2]},
	}
}

// Column returns column j.
func (m Mat3) Column(j int) Vec3 { return Vec3{m[0][j], m[1][j], m[2][j]} }

// Det returns the determinant.
func (m Mat3) Det() float64 { return m[0].Dot(m[1].Cross(m[2])) }

// Inverse returns the inverse of m by cofactors, and false when m has none.
func (m Mat3) Inverse() (Mat3, bool) {
	det := m.Det()
	if det == 0 || math.IsNaN(det) || math.IsInf(det, 0) {
		return Mat3{}, false
	}
	// The rows of the adjugate's transpose are cross products of m's rows.
	cofactors := Mat3{m[1].Cross(m[2]), m[2].Cross(m[0]), m[0].Cross(m[1])}
	inv := cofactors.Transposed()
	for i := range inv {
		inv[i] = inv[i].Scale(1 / det)
	}
	return inv, true
}

// RotationFromVector returns the rotation about the axis w by |w| radians
// (Rodrigues' formula), right-handed: about z it turns x towards y.
func RotationFromVector(w Vec3) Mat3 {
	angleSq := w.Dot(w)
	angle := math.Sqrt(angleSq)
	a, b := 1-angleSq/6, 0.5-angleSq/24 // sin(t)/t and (1-cos t)/t² near zero
	if angle > 1e-4 {
		a, b = math.Sin(angle)/angle, (1-math.Cos(angle))/angleSq
	}
	// R = I + a [w]× + b [w]×², and [w]×² = w wᵀ - |w|² I.
	x, y, z := w[0], w[1], w[2]
	diag := 1 - b*angleSq
	return Mat3{
		{diag + b*x*x, b*x*y - a*z, b*x*z + a*y},
		{b*x*y + a*z, diag + b*y*y, b*y*z - a*x},
		{b*x*z - a*y, b*y*z + a*x, diag + b*z*z},
	}
}

// Orthonormalised returns the rotation with m's first two columns made square to
// each other and of length one, sharing the correction evenly between them, and
// the third from their cross product. It takes rounding away from a product of
// many rotations, and turns the columns of a homography into a rotation.
func (m Mat3) Orthonormalised() Mat3 {
	c0, c1 := m.Column(0), m.Column(1)
	c0, c1 = c0.Scale(1/c0.Length()), c1.Scale(1/c1.Length())
	// Sum and difference of two unit vectors are square to each other.
	sum, diff := c0.Add(c1), c0.Sub(c1)
	sum, diff = sum.Scale(math.Sqrt(0.5)/sum.Length()), diff.Scale(math.Sqrt(0.5)/diff.Length())
	c0, c1 = sum.Add(diff), sum.Sub(diff)
	c2 := c0.Cross(c1)
	return Mat3{c0, c1, c2}.Transposed()
}
