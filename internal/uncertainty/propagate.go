package uncertainty

// Covariance returns aᵀ m b: the covariance of two functions with the gradients a
// and b of inputs whose covariance matrix is m, row by row (JCGM 100:2008, 5.2.2
// and H.2, equation H.9). With a = b it is the law of propagation of uncertainty,
// equation 13. m must be full and symmetric.
func Covariance(a, b, m []float64) float64 {
	n, sum := len(a), 0.0
	for i, x := range a {
		if x == 0 {
			continue
		}
		row := 0.0
		for j, c := range m[i*n : i*n+n] {
			row += c * b[j]
		}
		sum += x * row
	}
	return sum
}

// Means returns the means of simultaneous readings of several quantities, and the
// covariance matrix of the means, row by row: type A evaluation (JCGM 100:2008,
// 4.2.1 to 4.2.3 and 5.2.3, equation 17). readings[k] is the k-th reading of all
// quantities; two at least.
func Means(readings [][]float64) (means, covariance []float64) {
	n, count := len(readings[0]), float64(len(readings))
	means, covariance = make([]float64, n), make([]float64, n*n)
	for _, reading := range readings {
		for i, x := range reading {
			means[i] += x / count
		}
	}
	for _, reading := range readings {
		for i := range n {
			for j := range n {
				covariance[i*n+j] += (reading[i] - means[i]) * (reading[j] - means[j]) / (count * (count - 1))
			}
		}
	}
	return means, covariance
}
