package detect

import "math"

// fitMatrix holds normal equations of a mark fit; only the upper triangle is used.
type fitMatrix = [fitUnknowns][fitUnknowns]float64

// cholesky factors the matrix with its diagonal raised by the share damping
// (Marquardt's scaling) into RᵀR. Unknowns that the data say nothing of (a
// pivot lost to rounding) fail.
func cholesky(m *fitMatrix, damping float64) (r fitMatrix, ok bool) {
	for i := range fitUnknowns {
		for j := i; j < fitUnknowns; j++ {
			sum := m[i][j]
			if i == j {
				sum *= 1 + damping
			}
			for k := range i {
				sum -= r[k][i] * r[k][j]
			}
			if i == j {
				if !(sum > 1e-10*m[i][i]) {
					return r, false
				}
				r[i][i] = math.Sqrt(sum)
			} else {
				r[i][j] = sum / r[i][i]
			}
		}
	}
	return r, true
}

// dampedStep solves the damped normal equations.
func dampedStep(m *fitMatrix, right *[fitUnknowns]float64, damping float64) (x [fitUnknowns]float64, ok bool) {
	r, ok := cholesky(m, damping)
	if !ok {
		return x, false
	}
	return backwardSolve(&r, forwardSolve(&r, *right)), true
}

func forwardSolve(r *fitMatrix, b [fitUnknowns]float64) [fitUnknowns]float64 {
	for i := range fitUnknowns {
		for k := range i {
			b[i] -= r[k][i] * b[k]
		}
		b[i] /= r[i][i]
	}
	return b
}

func backwardSolve(r *fitMatrix, b [fitUnknowns]float64) [fitUnknowns]float64 {
	for i := fitUnknowns - 1; i >= 0; i-- {
		for k := i + 1; k < fitUnknowns; k++ {
			b[i] -= r[i][k] * b[k]
		}
		b[i] /= r[i][i]
	}
	return b
}

// inverseDiagonal returns the sum of the inverse's diagonal at the given
// unknowns: |R⁻ᵀ e|² for each, since (RᵀR)⁻¹ = R⁻¹R⁻ᵀ.
func inverseDiagonal(m *fitMatrix, unknowns ...int) (float64, bool) {
	r, ok := cholesky(m, 0)
	if !ok {
		return 0, false
	}
	sum := 0.0
	for _, u := range unknowns {
		var e [fitUnknowns]float64
		e[u] = 1
		for _, c := range forwardSolve(&r, e) {
			sum += c * c
		}
	}
	return sum, true
}
