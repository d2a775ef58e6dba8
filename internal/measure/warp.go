package measure

import (
	"math"

	"fairedge/internal/photo"
)

// A phone's picture is straightened by its maker with a map of its own, and what
// Brown's polynomial leaves of the two is a smooth field of a few tenths of a
// pixel. It is one error shared by neighbouring marks, not noise that averages
// away, so it is an unknown of the fit: for each axis a sum of cosines
//
//	w(x, y) = Σ c_ij cos(iπ x/width) cos(jπ y/height),  0 < i+j <= warpOrder
//
// with independent coefficients, all of one standard deviation chosen so that the
// field's variance, averaged over the picture, is Priors.Warp². The constant is
// left out: it is the principal point's.
//
// The fitted field itself is not applied to the outline, where it would be
// extrapolation; it keeps the other unknowns honest and enters the budget.
const warpOrder = 4

// warpTerms is the number of cosines for each axis.
const warpTerms = (warpOrder+1)*(warpOrder+2)/2 - 1

// warpBasis returns the cosines at p, in a picture of the given size.
func warpBasis(p photo.Point, width, height int) (basis [warpTerms]float64) {
	x, y := math.Pi*p.X/float64(width), math.Pi*p.Y/float64(height)
	k := 0
	for order := 1; order <= warpOrder; order++ {
		for i := 0; i <= order; i++ {
			basis[k] = math.Cos(float64(i)*x) * math.Cos(float64(order-i)*y)
			k++
		}
	}
	return basis
}

// warpCoefficientSD returns the sd of each coefficient for a field of rms px. The
// mean square of a cosine product is 1/4, or 1/2 where one index is zero.
func warpCoefficientSD(rms float64) float64 {
	sum := 0.0
	for order := 1; order <= warpOrder; order++ {
		for i := 0; i <= order; i++ {
			if i == 0 || i == order {
				sum += 0.5
			} else {
				sum += 0.25
			}
		}
	}
	return rms / math.Sqrt(sum)
}
