package measure

import (
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/card"
)

// Several photos through one lens share its parameters, its warp, and the prints
// that their cards were cut from; pose, places and heights of the cards are each
// photo's own. So are small moves of focal length and principal point about the
// shared ones, because focusing breathes and the stabiliser shifts the lens.
//
// The normal equations of such a bundle have an arrow's shape. With A_i the block of
// photo i's own unknowns, B_i the one between them and the shared, and C the shared
// one, eliminating the own ones leaves (Schur's complement; Brown, "Evolution,
// application and potential of the bundle method", 1976)
//
//	(C - Σ B_iᵀ A_i⁻¹ B_i) δ = g - Σ B_iᵀ A_i⁻¹ g_i,   δ_i = A_i⁻¹ (g_i - B_i δ)
//
// and the inverse of that complement is the covariance of the shared unknowns.

// moveParams of a photo's own: ln of the focal length, principal point x and y. They
// are the first of the camera's parameters.
const moveParams = 3

// lensParams are the shared parameters of the lens, first in a camera's.
const lensParams = camera.ParamTurn

// bundle is everything that the joint fit compares a state with. The views' models
// hold sd +Inf for the shared unknowns: their priors are counted once, here.
type bundle struct {
	views    []*model
	gauges   []int
	prints   []card.Print
	printOf  [][]int   // [view][print of the view] is the index of the shared print
	mean, sd []float64 // of the shared unknowns: lens, prints, warp
	moveSD   [moveParams]float64
}

// bundleState is one value of all unknowns. The lens in a view's row is always the
// shared one with the view's moves.
type bundleState struct {
	shared []float64
	moves  [][moveParams]float64
	views  []state
}

func (b *bundle) printAt(i int) int { return lensParams + printParams*i }
func (b *bundle) warpAt() int       { return b.printAt(len(b.prints)) }
func (b *bundle) count() int        { return b.warpAt() + warpParams }

// sharedPlace returns where unknown i of view v stands among the shared ones, or -1.
func (b *bundle) sharedPlace(v, i int) int {
	m := b.views[v]
	switch {
	case i < lensParams:
		return i
	case i >= m.warp():
		return b.warpAt() + i - m.warp()
	case i >= m.print(0) && i < m.print(m.prints):
		k := i - m.print(0)
		return b.printAt(b.printOf[v][k/printParams]) + k%printParams
	}
	return -1
}

// release makes the shared unknowns that have a prior move in every view.
func (b *bundle) release() {
	for v, m := range b.views {
		for i := range m.sd {
			if k := b.sharedPlace(v, i); k >= 0 {
				m.sd[i] = 0
				if b.sd[k] > 0 {
					m.sd[i] = math.Inf(1)
				}
			}
		}
	}
}

// hold makes them stand still in view v at the values of shared, but for the moves.
func (b *bundle) hold(v int, shared []float64) {
	m := b.views[v]
	for i := range m.sd {
		if k := b.sharedPlace(v, i); k >= 0 {
			m.mean[i], m.sd[i] = shared[k], 0
			if i < moveParams {
				m.sd[i] = b.moveSD[i]
			}
		}
	}
}

// spread writes the shared unknowns into the views' rows.
func (b *bundle) spread(s *bundleState) {
	for v := range s.views {
		row := s.views[v].row
		for i := range row {
			if k := b.sharedPlace(v, i); k >= 0 {
				row[i] = s.shared[k]
				if i < moveParams {
					row[i] += s.moves[v][i]
				}
			}
		}
	}
}

// cost returns the objective, or +Inf where a mark falls behind a camera.
func (b *bundle) cost(s bundleState) float64 {
	sum := 0.0
	for v, m := range b.views {
		sum += m.cost(s.views[v])
		for k, sd := range b.moveSD {
			if sd > 0 {
				sum += math.Pow(s.moves[v][k]/sd, 2)
			}
		}
	}
	for k, sd := range b.sd {
		if sd > 0 {
			sum += math.Pow((s.shared[k]-b.mean[k])/sd, 2)
		}
	}
	return sum
}

// own lists a view's own unknowns: first its moves, then what is not shared.
// Entries are unknowns of the view's model.
func (b *bundle) own(v int) []int {
	var own []int
	for k, sd := range b.moveSD {
		if sd > 0 && b.sd[k] > 0 {
			own = append(own, k)
		}
	}
	m := b.views[v]
	for i, sd := range m.sd {
		if sd > 0 && b.sharedPlace(v, i) < 0 {
			own = append(own, i)
		}
	}
	return own
}

// viewEquations are one photo's part of the normal equations.
type viewEquations struct {
	own      []int       // unknowns of the view's model, moves first
	a        symmetric   // own by own, with priors
	b        [][]float64 // [shared][own]
	gradient []float64   // of the own ones
}

// bundleEquations are the normal equations of the whole bundle at one state.
type bundleEquations struct {
	places   []int     // of each shared unknown in the reduced system, or -1
	c        symmetric // shared by shared, with priors
	gradient []float64
	views    []viewEquations
}

// linearise sums up the normal equations at s.
func (b *bundle) linearise(s bundleState) bundleEquations {
	eq := bundleEquations{places: make([]int, b.count())}
	n := 0
	for k, sd := range b.sd {
		eq.places[k] = -1
		if sd > 0 {
			eq.places[k] = n
			n++
		}
	}
	eq.c, eq.gradient = newSymmetric(n), make([]float64, n)
	for k, p := range eq.places {
		if p >= 0 {
			eq.c.a[p*n+p] += 1 / (b.sd[k] * b.sd[k])
			eq.gradient[p] += (s.shared[k] - b.mean[k]) / (b.sd[k] * b.sd[k])
		}
	}
	for v := range b.views {
		eq.views = append(eq.views, b.lineariseView(&eq, s, v))
	}
	return eq
}

// lineariseView adds view v's part of the shared equations and returns its own.
func (b *bundle) lineariseView(eq *bundleEquations, s bundleState, v int) viewEquations {
	m := b.views[v]
	full := m.linearise(s.views[v])
	view := viewEquations{own: b.own(v), b: make([][]float64, eq.c.n)}
	n := len(view.own)
	view.a, view.gradient = newSymmetric(n), make([]float64, n)
	for i, from := range view.own {
		at := full.active[from]
		view.gradient[i] = full.gradient[at]
		for j, to := range view.own[:i+1] {
			view.a.a[i*n+j] = full.hessian.at(at, full.active[to])
		}
		if from < moveParams {
			sd := b.moveSD[from]
			view.a.a[i*n+i] += 1 / (sd * sd)
			view.gradient[i] += s.moves[v][from] / (sd * sd)
		}
	}
	for i, at := range full.active {
		k := b.sharedPlace(v, i)
		if k < 0 || at < 0 {
			continue
		}
		p := eq.places[k]
		eq.gradient[p] += full.gradient[at]
		view.b[p] = make([]float64, n)
		for j, to := range view.own {
			view.b[p][j] = full.hessian.at(at, full.active[to])
		}
		for j, other := range full.active[:i+1] {
			if l := b.sharedPlace(v, j); l >= 0 && other >= 0 {
				q := eq.places[l]
				eq.c.a[max(p, q)*eq.c.n+min(p, q)] += full.hessian.at(at, other)
			}
		}
	}
	return view
}

// reduced is the bundle's equations with the photos' own unknowns eliminated.
type reduced struct {
	factor symmetric   // Cholesky factor of Schur's complement
	shared []float64   // δ
	own    [][]float64 // δ_i
	logDet float64     // of the whole Hessian
}

// solve eliminates and solves, with damping relative to the diagonals.
func (eq *bundleEquations) solve(damping float64) (reduced, bool) {
	n := eq.c.n
	r := reduced{shared: append([]float64(nil), eq.gradient...)}
	schur := symmetric{n, append([]float64(nil), eq.c.a...)}
	for i := range n {
		schur.a[i*n+i] *= 1 + damping
	}
	byShared := make([][][]float64, len(eq.views)) // A_i⁻¹ B_i, [view][shared]
	for v := range eq.views {
		var ok bool
		if byShared[v], ok = eq.views[v].eliminate(damping, &schur, &r); !ok {
			return r, false
		}
	}
	var ok bool
	if r.factor, ok = schur.cholesky(0); !ok {
		return r, false
	}
	r.logDet += r.factor.logDet()
	r.factor.solve(r.shared)
	for v := range eq.views {
		for i, solved := range byShared[v] {
			for j, y := range solved {
				r.own[v][j] -= y * r.shared[i]
			}
		}
	}
	return r, true
}

// eliminate takes the view's own unknowns out of the shared equations. It appends
// A⁻¹ g to r.own and returns A⁻¹ B, row by row of the shared.
func (view *viewEquations) eliminate(damping float64, schur *symmetric, r *reduced) ([][]float64, bool) {
	l, ok := view.a.cholesky(damping)
	if !ok {
		return nil, false
	}
	r.logDet += l.logDet()
	own := append([]float64(nil), view.gradient...)
	l.solve(own)
	r.own = append(r.own, own)
	n := schur.n
	byShared := make([][]float64, n)
	for i, row := range view.b {
		if row == nil {
			continue
		}
		solved := append([]float64(nil), row...)
		l.solve(solved)
		byShared[i] = solved
		r.shared[i] -= dotOf(row, own)
		for j := range i + 1 {
			if view.b[j] != nil {
				schur.a[i*n+j] -= dotOf(view.b[j], solved)
			}
		}
	}
	return byShared, true
}

func dotOf(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
