package measure

import (
	"math"
	"slices"
	"sort"
)

// How flat the cards lie is known only to a factor: a card glued to board and one
// that came out of a pocket differ tenfold. A prior that is too tight turns a bent
// card into lens distortion and throws it across the template (half a millimetre
// of curl becomes five of error); one that is too loose gives flat cards away. The
// marks themselves say something of it, so the fit is made with several multiples
// of the flatness priors, each is weighted by how probable it makes the marks, and
// the last fit uses the root of the weighted mean square: the one normal
// distribution with the variance of their mixture.

// hopeless: a multiple that makes the marks less probable by this (natural
// logarithm) than its neighbour has no weight, and those beyond it have less.
const hopeless = 12

// chooseFlatness returns the multiple, the evidence for the priors with all their
// multiples together, and the fit made with the multiple. The multiples are tried
// outward from the one nearest to 1.
func (m *model) chooseFlatness(p Priors, from state) (mixed, evidence float64, fit fitResult) {
	multiples := append([]float64(nil), p.Flatness...)
	if len(multiples) == 0 {
		multiples = []float64{1}
	}
	sort.Float64s(multiples)
	t := flatnessTrial{m: m, multiples: multiples, at: 1, logs: make([]float64, len(multiples)), ends: make([]state, len(multiples))}
	middle := 0
	for i, multiple := range multiples {
		t.logs[i] = math.Inf(-1)
		if math.Abs(math.Log(multiple)) < math.Abs(math.Log(multiples[middle])) {
			middle = i
		}
	}
	t.try(middle, from)
	for i := middle + 1; i < len(multiples) && t.try(i, t.ends[i-1]); i++ {
	}
	for i := middle - 1; i >= 0 && t.try(i, t.ends[i+1]); i-- {
	}
	mixed, evidence, best := t.mixture()
	m.scaleFlatness(mixed / t.at)
	return mixed, evidence, m.fit(t.ends[best], defaultSolverParams())
}

// flatnessTrial is how far the multiples have been tried.
type flatnessTrial struct {
	m         *model
	multiples []float64
	at        float64   // the multiple that the model has now
	logs      []float64 // evidence of each
	ends      []state   // where its fit ended
}

// try fits with multiple i and reports whether going on in this direction may pay.
func (t *flatnessTrial) try(i int, from state) bool {
	t.m.scaleFlatness(t.multiples[i] / t.at)
	t.at = t.multiples[i]
	rough := t.m.fit(from, roughSolverParams())
	t.ends[i], t.logs[i] = rough.state, t.m.logEvidence(rough)
	return t.logs[i] > slices.Max(t.logs)-hopeless
}

// mixture returns the root of the weighted mean square of the multiples, the
// evidence of their mixture, and which is the most probable.
func (t *flatnessTrial) mixture() (mixed, evidence float64, best int) {
	for i := range t.logs { // one was tried at least
		if t.ends[best].row == nil || t.logs[i] > t.logs[best] {
			best = i
		}
	}
	sum, square := 0.0, 0.0
	for i, multiple := range t.multiples {
		weight := math.Exp(t.logs[i] - t.logs[best])
		sum, square = sum+weight, square+weight*multiple*multiple
	}
	mixed = math.Sqrt(square / sum)
	if math.IsNaN(mixed) { // no multiple could be fitted at all
		mixed = 1
	}
	return mixed, t.logs[best] + math.Log(sum/float64(len(t.logs))), best
}

// scaleFlatness multiplies the sd of every height unknown, and the mean of the
// lifts: a flat card lies on the bench.
func (m *model) scaleFlatness(by float64) {
	for i := m.layout.height(0); i < m.warp(); i++ {
		m.sd[i] *= by
		m.mean[i] *= by
	}
}
