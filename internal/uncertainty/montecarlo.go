package uncertainty

import (
	"math"
	"math/rand/v2"
	"sort"
)

// Simulated is a distribution known from random trials.
type Simulated struct {
	Mean   float64
	U      float64 // standard deviation
	sorted []float64
}

// MonteCarlo propagates distributions (JCGM 101:2008, 7): it draws all inputs
// trials times and returns the distribution of the model's values. It holds where
// the first order does not: a bent model, a greatest of many. The same seed gives
// the same result. draw fills x; model must not keep it.
func MonteCarlo(model func(x []float64) float64, draw func(rng *rand.Rand, x []float64), inputs, trials int, seed uint64) Simulated {
	rng := rand.New(rand.NewPCG(seed, 0xed6e))
	s := Simulated{sorted: make([]float64, trials)}
	x := make([]float64, inputs)
	for t := range s.sorted {
		draw(rng, x)
		s.sorted[t] = model(x)
		s.Mean += s.sorted[t] / float64(trials)
	}
	square := 0.0
	for _, v := range s.sorted {
		square += (v - s.Mean) * (v - s.Mean)
	}
	s.U = math.Sqrt(square / math.Max(1, float64(trials-1)))
	sort.Float64s(s.sorted)
	return s
}

// Normals draws every input from the standard normal distribution.
func Normals(rng *rand.Rand, x []float64) {
	for i := range x {
		x[i] = rng.NormFloat64()
	}
}

// Quantile returns the value that a share p of the trials stays below, 0 <= p < 1.
func (s Simulated) Quantile(p float64) float64 {
	return s.sorted[min(len(s.sorted)-1, int(p*float64(len(s.sorted))+1e-9))]
}

// Interval returns the probabilistically symmetric coverage interval of probability
// p (JCGM 101:2008, 7.7).
func (s Simulated) Interval(p float64) (low, high float64) {
	return s.Quantile((1 - p) / 2), s.Quantile((1 + p) / 2)
}
