package measure

import "math"

// How flat the cards lie is known only to a factor: a card glued to board and one
// that came out of a pocket differ tenfold. A prior that is too tight turns a bent
// card into lens distortion and throws it across the template (half a millimetre
// of curl becomes five of error); one that is too loose gives flat cards away. The
// marks themselves say something of it, so the fit is made with several multiples
// of the flatness priors, each is weighted by how probable it makes the marks, and
// the last fit uses the root of the weighted mean square: the one normal
// distribution with the variance of their mixture.

// chooseFlatness returns the multiple, the evidence for the priors with all their
// multiples together, and the fit made with the multiple.
func (m *model) chooseFlatness(p Priors, from state) (mixed, evidence float64, fit fitResult) {
	multiples := p.Flatness
	if len(multiples) == 0 {
		multiples = []float64{1}
	}
	logs, greatest := make([]float64, len(multiples)), math.Inf(-1)
	at := 1.0
	for i, multiple := range multiples {
		m.scaleFlatness(multiple / at)
		at = multiple
		rough := m.fit(from, roughSolverParams())
		from = rough.state
		logs[i] = m.logEvidence(rough)
		greatest = math.Max(greatest, logs[i])
	}
	sum, square := 0.0, 0.0
	for i, multiple := range multiples {
		weight := math.Exp(logs[i] - greatest)
		sum, square = sum+weight, square+weight*multiple*multiple
	}
	mixed = math.Sqrt(square / sum)
	if math.IsNaN(mixed) { // no multiple could be fitted at all
		mixed = 1
	}
	m.scaleFlatness(mixed / at)
	return mixed, greatest + math.Log(sum/float64(len(multiples))), m.fit(from, defaultSolverParams())
}

// scaleFlatness multiplies the sd of every height unknown, and the mean of the
// lifts: a flat card lies on the bench.
func (m *model) scaleFlatness(by float64) {
	for i := m.layout.height(0); i < m.warp(); i++ {
		m.sd[i] *= by
		m.mean[i] *= by
	}
}
