package measure

import "math"

// symmetric is a symmetric matrix of n x n, row by row. Only the lower triangle
// (column <= row) is meant while it is being summed up.
type symmetric struct {
	n int
	a []float64
}

func newSymmetric(n int) symmetric { return symmetric{n, make([]float64, n*n)} }

func (s symmetric) at(i, j int) float64 {
	if i < j {
		i, j = j, i
	}
	return s.a[i*s.n+j]
}

// cholesky returns the lower triangle L with L Lᵀ = s + diag(damping * diagonal),
// and false when that is not positive definite.
func (s symmetric) cholesky(damping float64) (symmetric, bool) {
	n := s.n
	l := newSymmetric(n)
	for i := range n {
		li := l.a[i*n : i*n+n]
		for j := range i {
			lj := l.a[j*n : j*n+n]
			sum := s.a[i*n+j]
			for k := range j {
				sum -= li[k] * lj[k]
			}
			li[j] = sum / lj[j]
		}
		d := s.a[i*n+i] * (1 + damping)
		for k := range i {
			d -= li[k] * li[k]
		}
		if !(d > 1e-13*s.a[i*n+i]) || math.IsInf(d, 0) {
			return l, false
		}
		li[i] = math.Sqrt(d)
	}
	return l, true
}

// forward solves L y = b in place.
func (l symmetric) forward(b []float64) {
	for i := range l.n {
		row := l.a[i*l.n : i*l.n+i]
		sum := b[i]
		for k, v := range row {
			sum -= v * b[k]
		}
		b[i] = sum / l.a[i*l.n+i]
	}
}

// solve solves L Lᵀ x = b in place.
func (l symmetric) solve(b []float64) {
	l.forward(b)
	for i := l.n - 1; i >= 0; i-- {
		b[i] /= l.a[i*l.n+i]
		for k := range i {
			b[k] -= l.a[i*l.n+k] * b[i]
		}
	}
}

// inverse returns (L Lᵀ)⁻¹, full.
func (l symmetric) inverse() symmetric {
	inv := newSymmetric(l.n)
	column := make([]float64, l.n)
	for j := range l.n {
		clear(column)
		column[j] = 1
		l.solve(column)
		for i := range l.n {
			inv.a[i*l.n+j] = column[i]
		}
	}
	return inv
}

// logDet returns ln det(L Lᵀ).
func (l symmetric) logDet() float64 {
	sum := 0.0
	for i := range l.n {
		sum += 2 * math.Log(l.a[i*l.n+i])
	}
	return sum
}
