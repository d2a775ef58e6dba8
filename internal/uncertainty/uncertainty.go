// Package uncertainty is the arithmetic of the Guide to the expression of
// uncertainty in measurement (JCGM 100:2008) and its first supplement (JCGM
// 101:2008): what a known range or a scatter of readings is worth as a standard
// uncertainty, and whether two results agree.
package uncertainty

import "math"

// Rectangular returns the standard uncertainty of a value that lies anywhere within
// ± halfWidth with equal probability (JCGM 100:2008, 4.3.7).
func Rectangular(halfWidth float64) float64 { return halfWidth / math.Sqrt(3) }

// NormalisedError returns E_n: the difference of two independent results over the
// root of the sum of squares of their expanded uncertainties (k = 2). The results
// agree when |E_n| <= 1 (ISO 13528:2022, 9.7).
func NormalisedError(difference, expanded1, expanded2 float64) float64 {
	return difference / math.Hypot(expanded1, expanded2)
}
