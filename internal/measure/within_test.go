package measure

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The few modes and what each point has left must have the variances of the many
// exactly, and their covariances within what was left.
func TestFewerModesKeepTheCovariance(t *testing.T) {
	const points, many = 60, 80
	rng := rand.New(rand.NewPCG(1, 2))
	modes := make([][]float64, many)
	for m := range modes { // smooth along the outline, weaker and weaker
		modes[m] = make([]float64, points)
		strength, phase := math.Exp(-float64(m)/8), 6*rng.Float64()
		for i := range modes[m] {
			modes[m][i] = strength * math.Sin(float64(m%9)*2*math.Pi*float64(i)/points+phase)
		}
	}
	few, left := fewerModes(modes, points)
	if len(few) > 25 {
		t.Errorf("%d modes remain of %d", len(few), many)
	}
	covariance := func(modes [][]float64, i, j int) float64 {
		sum := 0.0
		for _, m := range modes {
			sum += m[i] * m[j]
		}
		return sum
	}
	greatest := 0.0
	for i := range points {
		greatest = max(greatest, covariance(modes, i, i))
	}
	for i := range points {
		if got, want := covariance(few, i, i)+left[i], covariance(modes, i, i); math.Abs(got-want) > 1e-9*greatest {
			t.Errorf("variance %d: %v, want %v", i, got, want)
		}
		for j := range i {
			// What is left is a covariance too, so Cauchy and Schwarz bound it.
			if off := math.Abs(covariance(few, i, j) - covariance(modes, i, j)); off > 1.01*negligible*greatest {
				t.Errorf("covariance %d, %d is %v off", i, j, off)
			}
		}
	}
}
