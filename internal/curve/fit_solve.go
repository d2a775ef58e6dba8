package curve

import (
	"math"

	"fairedge/internal/plane"
)

// fitState is a chain with its blocks: which piece each lies on, where, and how
// far off.
type fitState struct {
	tr       *fitTrace
	chain    fitChain
	segments []Segment
	piece    []int
	t        []float64
	residual []float64 // signed, left of travel positive, mm
	normal   []plane.Vec
	robust   []float64 // factor on the block's weight
	cost     float64   // Σ weight residual², mm²
	pull     float64   // mm², see below
	live     []bool    // blocks that take part; nil = all
	frozen   []bool    // unknowns that stay; nil = none
}

// The priors keep what the samples leave open: handles near a third of the chord
// (a factor e costs pull mm²) and joints from sliding along the curve (1 mm
// costs slidePull mm²). They are far below what the samples say where they speak.
const slidePull = 1e-6

func newFitState(tr *fitTrace, chain fitChain, robust []float64, pull float64) *fitState {
	st := newUnsolvedState(tr, chain, robust, pull)
	st.project()
	return st
}

func newUnsolvedState(tr *fitTrace, chain fitChain, robust []float64, pull float64) *fitState {
	n := len(tr.blocks)
	st := &fitState{tr: tr, chain: chain, piece: make([]int, n), t: make([]float64, n),
		residual: make([]float64, n), normal: make([]plane.Vec, n), robust: robust, pull: pull}
	st.segments = chain.segments()
	st.assign()
	return st
}

// assign gives each block the piece between whose joints' arc lengths it lies,
// and a first parameter in proportion.
func (st *fitState) assign() {
	c := &st.chain
	for i := range c.pieces {
		a, b := c.stretch(i, st.tr.length)
		for k := range st.tr.blocks {
			s := st.tr.blocks[k].s
			if s < a {
				s += st.tr.length
			}
			if s >= a && s < b {
				st.piece[k] = i
				st.t[k] = (s - a) / (b - a)
			}
		}
	}
}

// takesPart reports whether block k is used and not in a part that stays as it is.
func (st *fitState) takesPart(k int) bool { return st.used(k) && (st.live == nil || st.live[k]) }

func (st *fitState) used(k int) bool {
	return st.tr.usable(k)
}

// project renews parameters, residuals and normals. A block at the end of its
// piece may pass to the neighbour.
func (st *fitState) project() {
	first := st.cost == 0
	st.cost = 0
	for k := range st.tr.blocks {
		if !st.takesPart(k) {
			continue
		}
		p := st.tr.blocks[k].at
		i := st.piece[k]
		t := newtonNearest(st.segments[i], p, st.t[k])
		if first {
			t = newtonNearest(st.segments[i], p, newtonNearest(st.segments[i], p, t))
		}
		if t == 0 || t == 1 {
			i, t = st.pass(i, t, p)
		}
		st.piece[k], st.t[k] = i, t
		n := st.segments[i].Derivative(t).Unit().TurnLeft()
		st.normal[k] = n
		e := p.Sub(st.segments[i].At(t)).Dot(n)
		st.residual[k] = e
		st.cost += st.tr.blocks[k].weight * st.robust[k] * e * e
	}
}

// pass returns the piece and parameter of the nearer of a piece's end and the
// neighbour beyond it.
func (st *fitState) pass(i int, t float64, p plane.Point) (int, float64) {
	j, u := st.chain.next(i), 0.02
	if t == 0 {
		j, u = st.chain.prev(i), 0.98
	}
	u = newtonNearest(st.segments[j], p, u)
	if st.segments[j].At(u).DistanceSqTo(p) < st.segments[i].At(t).DistanceSqTo(p) {
		return j, u
	}
	return i, t
}

// solve improves the chain by Levenberg-Marquardt on the orthogonal distances.
func (st *fitState) solve(rounds int, tolerance float64) {
	lambda := 1e-4
	for range rounds {
		l := st.chain.layout()
		a, g := st.normalEquations(&l)
		improved := false
		for range 6 {
			delta, ok := solveDamped(a, g, l.count, lambda)
			if !ok {
				lambda *= 10
				continue
			}
			limitSteps(delta, &l, &st.chain)
			trial := *st
			trial.chain = st.chain.moved(&l, delta)
			trial.segments = trial.chain.segments()
			trial.piece = append([]int(nil), st.piece...)
			trial.t = append([]float64(nil), st.t...)
			trial.residual = append([]float64(nil), st.residual...)
			trial.normal = make([]plane.Vec, len(st.normal))
			trial.project()
			before, after := st.cost, trial.cost+st.priorCost(delta, &l)-st.priorCost(nil, &l)
			if after < before {
				gain := before - after
				*st = trial
				lambda = math.Max(lambda*0.1, 1e-9)
				improved = gain > tolerance*before
				break
			}
			lambda *= 10
		}
		if !improved {
			break
		}
	}
	st.settleJoints()
}

// priorCost returns the cost of the handles' prior after a change.
func (st *fitState) priorCost(delta []float64, l *fitLayout) float64 {
	sum, c := 0.0, &st.chain
	for i := range c.pieces {
		k := l.handle[i]
		if k < 0 {
			continue
		}
		va, vb := handleStretch(c, i)
		if delta != nil {
			va += delta[k]
			vb += delta[k+1]
		}
		sum += st.pull * (va*va + vb*vb)
	}
	return sum
}

// handleStretch returns the logarithms of the handles over a third of the chord.
func handleStretch(c *fitChain, i int) (float64, float64) {
	third := c.joints[i].at.DistanceTo(c.joints[c.next(i)].at) / 3
	return math.Log(c.pieces[i].a / third), math.Log(c.pieces[i].b / third)
}

// normalEquations returns J'WJ and J'Wr with the priors.
func (st *fitState) normalEquations(l *fitLayout) ([]float64, []float64) {
	n := l.count
	a, g := make([]float64, n*n), make([]float64, n)
	var row fitRow
	for k := range st.tr.blocks {
		if !st.takesPart(k) {
			continue
		}
		st.chain.jacobian(l, st.piece[k], st.t[k], st.normal[k], &row)
		w := st.tr.blocks[k].weight * st.robust[k]
		for p := 0; p < row.n; p++ {
			wp := w * row.value[p]
			ip := row.index[p]
			g[ip] += wp * st.residual[k]
			for q := 0; q < row.n; q++ {
				a[ip*n+row.index[q]] += wp * row.value[q]
			}
		}
	}
	for i := range st.chain.pieces {
		if k := l.handle[i]; k >= 0 {
			va, vb := handleStretch(&st.chain, i)
			a[k*n+k] += st.pull
			a[(k+1)*n+k+1] += st.pull
			g[k] -= st.pull * va
			g[k+1] -= st.pull * vb
		}
	}
	for j := range st.chain.joints {
		u := heading(st.chain.joints[j].out)
		a[2*j*n+2*j] += slidePull * u.X * u.X
		a[(2*j+1)*n+2*j+1] += slidePull * u.Y * u.Y
		a[2*j*n+2*j+1] += slidePull * u.X * u.Y
		a[(2*j+1)*n+2*j] += slidePull * u.X * u.Y
	}
	for k, f := range st.frozen {
		if !f {
			continue
		}
		for q := range n {
			a[k*n+q], a[q*n+k] = 0, 0
		}
		a[k*n+k], g[k] = 1, 0
	}
	return a, g
}

// solveDamped solves (A + λ diag A) x = g by Cholesky's method.
func solveDamped(a, g []float64, n int, lambda float64) ([]float64, bool) {
	m := append([]float64(nil), a...)
	x := append([]float64(nil), g...)
	for i := range n {
		m[i*n+i] += lambda*m[i*n+i] + 1e-12
	}
	for i := range n {
		ri := m[i*n : i*n+n]
		for j := 0; j <= i; j++ {
			rj := m[j*n : j*n+n]
			sum := ri[j]
			for k := 0; k < j; k++ {
				sum -= ri[k] * rj[k]
			}
			if i > j {
				ri[j] = sum / rj[j]
			} else if sum <= 0 || math.IsNaN(sum) {
				return nil, false
			} else {
				ri[i] = math.Sqrt(sum)
			}
		}
	}
	for i := range n {
		for k := 0; k < i; k++ {
			x[i] -= m[i*n+k] * x[k]
		}
		x[i] /= m[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= m[k*n+i] * x[k]
		}
		x[i] /= m[i*n+i]
	}
	return x, true
}

// limitSteps shortens a step that would move a joint by more than a third of the
// shorter chord beside it, or turn a direction by more than 0.3.
func limitSteps(delta []float64, l *fitLayout, c *fitChain) {
	scale := 1.0
	for j := range c.joints {
		here := c.joints[j].at
		room := math.Min(here.DistanceTo(c.joints[c.next(j)].at), here.DistanceTo(c.joints[c.prev(j)].at)) / 3
		if d := math.Hypot(delta[2*j], delta[2*j+1]); d > room {
			scale = math.Min(scale, room/d)
		}
	}
	for i := range c.pieces {
		for _, k := range [2]int{l.out[i], l.in[i]} {
			if k >= 0 && math.Abs(delta[k]) > 0.3 {
				scale = math.Min(scale, 0.3/math.Abs(delta[k]))
			}
		}
	}
	if scale < 1 {
		for k := range delta {
			delta[k] *= scale
		}
	}
}

// settleJoints moves the joints' arc lengths to the blocks nearest to them.
func (st *fitState) settleJoints() {
	c := &st.chain
	for j := range c.joints {
		at := c.joints[j].at
		best, s := math.Inf(1), c.joints[j].s
		for k := range st.tr.blocks {
			b := &st.tr.blocks[k]
			if b.at == (plane.Point{}) {
				continue // no samples
			}
			if d := b.at.DistanceSqTo(at); d < best {
				best = d
				s = b.s + at.Sub(b.at).Dot(heading(c.joints[j].in))
			}
		}
		c.joints[j].s = s - math.Floor(s/st.tr.length)*st.tr.length
	}
}
