package curve

import "math"

// fitSystem is the normal equations of the unknowns that are free, with room to
// solve them: frozen ones take no place, so a local change costs what its own few
// unknowns cost.
type fitSystem struct {
	n      int
	place  []int     // of each unknown of the layout; -1 = frozen
	a, g   []float64 // J'WJ (lower triangle) and J'Wr
	m, x   []float64 // Cholesky factor, solution
	deltas []float64 // solution in the layout's order
}

func newFitSystem(l *fitLayout, frozen []bool) *fitSystem {
	s := &fitSystem{place: make([]int, l.count), deltas: make([]float64, l.count)}
	for k := range s.place {
		s.place[k] = -1
		if frozen == nil || !frozen[k] {
			s.place[k] = s.n
			s.n++
		}
	}
	s.a, s.m = make([]float64, s.n*s.n), make([]float64, s.n*s.n)
	s.g, s.x = make([]float64, s.n), make([]float64, s.n)
	return s
}

// add adds one entry, if both unknowns are free.
func (s *fitSystem) add(p, q int, value float64) {
	i, j := s.place[p], s.place[q]
	if i >= j && j >= 0 {
		s.a[i*s.n+j] += value
	}
}

// normalEquations fills J'WJ and J'Wr with the priors.
func (st *fitState) normalEquations(l *fitLayout, s *fitSystem) {
	clear(s.a)
	clear(s.g)
	st.blockEquations(l, s)
	for i := range st.chain.pieces {
		k := l.handle[i]
		if k < 0 || s.place[k] < 0 {
			continue
		}
		va, vb := handleStretch(&st.chain, i)
		s.add(k, k, st.pull)
		s.add(k+1, k+1, st.pull)
		s.g[s.place[k]] -= st.pull * va
		s.g[s.place[k+1]] -= st.pull * vb
	}
	for j := range st.chain.joints {
		u := heading(st.chain.joints[j].out)
		s.add(2*j, 2*j, slidePull*u.X*u.X)
		s.add(2*j+1, 2*j+1, slidePull*u.Y*u.Y)
		s.add(2*j+1, 2*j, slidePull*u.X*u.Y)
	}
}

// solveDamped solves (A + λ diag A) x = g by Cholesky's method and returns the
// step in the layout's order, valid until the next call.
func (s *fitSystem) solveDamped(lambda float64) ([]float64, bool) {
	if !s.factor(lambda) {
		return nil, false
	}
	n, m, x := s.n, s.m, s.x
	copy(x, s.g)
	for i := range n {
		for k := range i {
			x[i] -= m[i*n+k] * x[k]
		}
		x[i] /= m[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		x[i] /= m[i*n+i]
		for k := range i {
			x[k] -= m[i*n+k] * x[i]
		}
	}
	for k, i := range s.place {
		s.deltas[k] = 0
		if i >= 0 {
			s.deltas[k] = x[i]
		}
	}
	return s.deltas, true
}

func (s *fitSystem) factor(lambda float64) bool {
	n, m := s.n, s.m
	copy(m, s.a)
	for i := range n {
		m[i*n+i] += lambda*m[i*n+i] + 1e-12
	}
	for i := range n {
		ri := m[i*n : i*n+i+1]
		for j := range ri {
			rj := m[j*n : j*n+j+1]
			sum := ri[j]
			for k, v := range rj[:j] {
				sum -= ri[k] * v
			}
			if i > j {
				ri[j] = sum / rj[j]
			} else if sum <= 0 || math.IsNaN(sum) {
				return false
			} else {
				ri[i] = math.Sqrt(sum)
			}
		}
	}
	return true
}
