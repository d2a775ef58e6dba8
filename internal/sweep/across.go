package sweep

import (
	"math"
	"sort"

	"fairedge/internal/plane"
)

// AcrossErrors returns the distances in mm across the outline between measured and
// true points, after the rigid motion that makes their sum of squares least. It is
// linear: the points must already lie on each other to millimetres.
func AcrossErrors(measured, truth []plane.Point) []float64 {
	n := len(truth)
	rows := make([][3]float64, n)
	e := make([]float64, n)
	var a [3][4]float64
	for i := range n {
		normal := truth[(i+1)%n].Sub(truth[(i+n-1)%n]).Unit().TurnRight()
		rows[i] = [3]float64{normal.X, normal.Y, normal.Dot(plane.Vec{X: -truth[i].Y, Y: truth[i].X})}
		e[i] = normal.Dot(measured[i].Sub(truth[i]))
		for r := range 3 {
			for c := range 3 {
				a[r][c] += rows[i][r] * rows[i][c]
			}
			a[r][3] += rows[i][r] * e[i]
		}
	}
	x := solve3(a)
	for i := range n {
		e[i] -= rows[i][0]*x[0] + rows[i][1]*x[1] + rows[i][2]*x[2]
	}
	return e
}

// solve3 is Gaussian elimination with pivoting.
func solve3(a [3][4]float64) (x [3]float64) {
	for c := range 3 {
		p := c
		for r := c; r < 3; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		a[c], a[p] = a[p], a[c]
		for r := range 3 {
			if r != c {
				k := a[r][c] / a[c][c]
				for j := range 4 {
					a[r][j] -= k * a[c][j]
				}
			}
		}
	}
	for r := range 3 {
		x[r] = a[r][3] / a[r][r]
	}
	return x
}

// RMS returns the root of the mean square.
func RMS(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(values)))
}

// Greatest returns the greatest absolute value.
func Greatest(values []float64) float64 {
	most := 0.0
	for _, v := range values {
		most = math.Max(most, math.Abs(v))
	}
	return most
}

// Quantile returns the value that a share q of the values stays below.
func Quantile(values []float64, q float64) float64 {
	s := append([]float64(nil), values...)
	sort.Float64s(s)
	return s[min(len(s)-1, int(q*float64(len(s))))]
}
