package measure

import (
	"math"

	"fairedge/internal/camera"
)

// choice is one candidate's priors, with the fit made with them.
type choice struct {
	candidate int
	flatness  float64
	evidence  float64 // logarithm, up to a constant shared by all
	mean, sd  []float64
	fit       fitResult
}

// chooseCandidate fits with the expected priors, and, when the lens that comes out
// is one that they call unlikely, with the others too. It keeps the priors that make
// the marks most probable: the expected ones unless others do so by far more. The
// model is left with the priors of the choice.
func (m *model) chooseCandidate(set Set, gauge int, from state, params Params) choice {
	best := m.fitCandidate(set, gauge, 0, from)
	if m.lensStrain(best.fit.state) > params.LensStrain || !best.fit.converged {
		for i := 1; i < len(set.Candidates); i++ {
			next := m.fitCandidate(set, gauge, i, from)
			if next.evidence > best.evidence+params.LessExpected && next.fit.converged {
				best = next
				best.evidence -= params.LessExpected
			}
		}
	}
	m.mean, m.sd = best.mean, best.sd
	return best
}

// fitCandidate fits with one candidate's priors.
func (m *model) fitCandidate(set Set, gauge, candidate int, from state) choice {
	m.mean, m.sd = m.priorRow(set, gauge, set.Candidates[candidate])
	c := choice{candidate: candidate}
	c.flatness, c.evidence, c.fit = m.chooseFlatness(set.Candidates[candidate], from)
	c.mean, c.sd = m.mean, m.sd
	return c
}

// lensStrain is how far the fitted lens lies from its priors: the sum of squares in
// standard deviations.
func (m *model) lensStrain(s state) float64 {
	sum := 0.0
	for i := camera.ParamLogF; i <= camera.ParamP2; i++ {
		if m.sd[i] > 0 {
			sum += math.Pow((s.row[i]-m.mean[i])/m.sd[i], 2)
		}
	}
	return sum
}
