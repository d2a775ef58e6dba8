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

// chooseFlatness returns the multiple and the fit made with it.
func (m *model) chooseFlatness(p Priors, fit fitResult) (float64, fitResult) {
	if len(p.Flatness) == 0 {
		return 1, m.fit(fit.state, defaultSolverParams())
	}
	logs, greatest := make([]float64, len(p.Flatness)), math.Inf(-1)
	at := 1.0
	for i, multiple := range p.Flatness {
		m.scaleFlatness(multiple / at)
		at = multiple
		logs[i] = m.logEvidence(m.fit(fit.state, roughSolverParams()))
		greatest = math.Max(greatest, logs[i])
	}
	sum, square := 0.0, 0.0
	for i, multiple := range p.Flatness {
		weight := math.Exp(logs[i] - greatest)
		sum, square = sum+weight, square+weight*multiple*multiple
	}
	mixed := math.Sqrt(square / sum)
	if math.IsNaN(mixed) {
		mixed = 1
	}
	m.scaleFlatness(mixed / at)
	return mixed, m.fit(fit.state, defaultSolverParams())
}

// scaleFlatness multiplies the sd of every height unknown.
func (m *model) scaleFlatness(by float64) {
	for i := m.layout.height(0); i < m.warp(); i++ {
		m.sd[i] *= by
	}
}
