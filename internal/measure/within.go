package measure

import (
	"math"
	"slices"

	"fairedge/internal/uncertainty"
)

// within draws the whole outline's error many times and returns what the greatest
// error stays below in 19 draws of 20: the greatest of many is no linear function,
// so its distribution is simulated. The draws are the same every time.
func within(fit fitModes, bench benchModes, ink [2][]float64, n int, params BudgetParams) float64 {
	modes := slices.Clone(fit.factor)
	for _, group := range bench {
		modes = append(modes, group...)
	}
	return greatestWithin(modes, ink, n, params)
}

// greatestWithin is within for a list of modes, each an independent unit error.
func greatestWithin(all [][]float64, ink [2][]float64, n int, params BudgetParams) float64 {
	step := max(1, (n+params.MaxDrawnPoints-1)/params.MaxDrawnPoints)
	drawn := (n + step - 1) / step
	modes := make([][]float64, len(all))
	for i, mode := range all {
		modes[i] = every(mode, step, drawn)
	}
	shared, own := fewerModes(modes, drawn)
	for i := range own {
		own[i] = math.Sqrt(own[i] + ink[0][i*step] + ink[1][i*step])
	}
	errors := make([]float64, drawn)
	greatest := func(unit []float64) float64 { // one for each point, then one for each mode
		for i := range errors {
			errors[i] = own[i] * unit[i]
		}
		for m, mode := range shared {
			e := unit[drawn+m]
			for i := range errors {
				errors[i] += e * mode[i]
			}
		}
		most := 0.0
		for _, e := range errors {
			most = max(most, math.Abs(e))
		}
		return most
	}
	const seed = 0x5eed
	return uncertainty.MonteCarlo(greatest, uncertainty.Normals, drawn+len(shared), params.Draws, seed).Quantile(0.95)
}

func every(mode []float64, step, count int) []float64 {
	out := make([]float64, count)
	for i := range out {
		out[i] = mode[i*step]
	}
	return out
}

// negligible is the share of the greatest variance that fewerModes leaves to each
// point by itself: a hundredth of a standard deviation.
const negligible = 1e-4

// fewerModes returns few modes with nearly the covariance of the many, and what each of
// the n points is left with as variance of its own, so that none is lost. The errors of
// lens and cards change slowly along an outline: of a hundred modes a dozen remain. It is
// Cholesky's factorisation with the greatest remaining variance first, ended early
// (Harbrecht, Peters and Schneider, "On the low-rank approximation by the pivoted Cholesky
// decomposition", Applied Numerical Mathematics 62, 2012).
func fewerModes(modes [][]float64, n int) (few [][]float64, left []float64) {
	left = make([]float64, n)
	for _, mode := range modes {
		for i, e := range mode {
			left[i] += e * e
		}
	}
	enough := negligible * left[greatestOf(left)]
	for pivot := greatestOf(left); left[pivot] > enough && len(few) < n; pivot = greatestOf(left) {
		column := make([]float64, n)
		addScaled(column, modes, pivot, 1)
		addScaled(column, few, pivot, -1)
		root := math.Sqrt(left[pivot])
		for i := range column {
			column[i] /= root
			left[i] = max(0, left[i]-column[i]*column[i])
		}
		left[pivot] = 0
		few = append(few, column)
	}
	return few, left
}

// addScaled adds to the column factor times the modes' covariance with the point.
func addScaled(column []float64, modes [][]float64, point int, factor float64) {
	for _, mode := range modes {
		by := factor * mode[point]
		for i, e := range mode {
			column[i] += by * e
		}
	}
}

func greatestOf(values []float64) int {
	best := 0
	for i, v := range values {
		if v > values[best] {
			best = i
		}
	}
	return best
}
