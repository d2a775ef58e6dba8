package measure

import "math"

// source is a group of unknowns or errors with one line in the budget.
type source int

const (
	fromMarks source = iota
	fromScale
	fromAnisotropy
	fromFlatness
	fromLens
	fromWarp
	sourceCount
)

// posterior is what the fit knows of its own error: the covariance of the moving
// unknowns, split by where it comes from.
//
// With H = M + P (marks and priors) and C = H⁻¹ the error of the fit is
// C (Jᵀ W noise + P (mean - truth)), so its covariance C = C M C + Σ C P_g C over
// the groups g of priors. A function with gradient y, carried to z = C y, has the
// variance yᵀ C y = zᵀ M z + Σ_g Σ_{i in g} P_i z_i².
type posterior struct {
	active     []int
	covariance symmetric
	marks      symmetric
	precision  []float64 // of each moving unknown's prior
	group      []source  // of each moving unknown
	state      state
	layout     layout
}

func newPosterior(m *model, s state) (posterior, bool) {
	eq := m.linearise(s)
	l, ok := eq.hessian.cholesky(0)
	if !ok {
		return posterior{}, false
	}
	n := eq.hessian.n
	for i := range n { // mirror the lower triangle up
		for j := range i {
			eq.marks.a[j*n+i] = eq.marks.a[i*n+j]
		}
	}
	p := posterior{
		active: eq.active, covariance: l.inverse(), marks: eq.marks, state: s, layout: m.layout,
		precision: make([]float64, n), group: make([]source, n),
	}
	for i, k := range eq.active {
		if k < 0 {
			continue
		}
		if sd := m.sd[i]; !math.IsInf(sd, 1) {
			p.precision[k] = 1 / (sd * sd)
		}
		p.group[k] = m.layout.groupOf(i)
	}
	return p, true
}

func (l layout) groupOf(i int) source {
	switch {
	case i < l.print(0):
		return fromLens
	case i < l.pose(0):
		if (i-l.print(0))%printParams == 0 {
			return fromScale
		}
		return fromAnisotropy
	case i < l.warp():
		return fromFlatness
	}
	return fromWarp
}
