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
	powers   []fitPowers // of the segments
	piece    []int
	t        []float64
	residual []float64 // signed, left of travel positive, mm
	normal   []plane.Vec
	robust   []float64 // factor on the block's weight
	cost     float64   // Σ weight residual², mm²
	pull     float64   // mm², see below
	blocks   []int     // those that take part, ascending
	frozen   []bool    // unknowns that stay; nil = none
	astray   float64   // greatest distance of a joint from the blocks, mm, as last settled
}

// The priors keep what the samples leave open: handles near those of a circular arc
// (a factor e costs pull mm²) and joints from sliding along the curve (1 mm
// costs slidePull mm²). They are far below what the samples say where they speak.
const slidePull = 1e-6

func newFitState(tr *fitTrace, chain fitChain, robust []float64, pull float64) *fitState {
	st := newUnsolvedState(tr, chain, robust, pull)
	st.takePart(nil)
	st.project()
	return st
}

func newUnsolvedState(tr *fitTrace, chain fitChain, robust []float64, pull float64) *fitState {
	n := len(tr.blocks)
	st := &fitState{tr: tr, chain: chain, piece: make([]int, n), t: make([]float64, n),
		residual: make([]float64, n), normal: make([]plane.Vec, n), robust: robust, pull: pull}
	st.segments = chain.segments()
	st.powers = powersOf(st.segments)
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

// takePart lists the blocks that are used and lie on an active piece; nil means
// that all are.
func (st *fitState) takePart(active []bool) {
	st.blocks = make([]int, 0, len(st.piece))
	for k, i := range st.piece {
		if st.used(k) && (active == nil || active[i]) {
			st.blocks = append(st.blocks, k)
		}
	}
}

func (st *fitState) used(k int) bool {
	return st.tr.usable(k)
}

// project renews parameters, residuals and normals. A block at the end of its
// piece may pass to the neighbour.
func (st *fitState) project() {
	first := st.cost == 0
	st.cost = 0
	for _, k := range st.blocks {
		p := st.tr.blocks[k].at
		i := st.piece[k]
		t := st.powers[i].nearest(p, st.t[k])
		if first {
			t = st.powers[i].nearest(p, st.powers[i].nearest(p, t))
		}
		if t == 0 || t == 1 {
			i, t = st.pass(i, t, p)
		}
		st.piece[k], st.t[k] = i, t
		at, d := st.powers[i].at(t)
		n := d.Scale(1 / math.Sqrt(d.LengthSq())).TurnLeft()
		st.normal[k] = n
		e := p.Sub(at).Dot(n)
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
	l := st.chain.layout()
	sys := newFitSystem(&l, st.frozen)
	trial := st.room()
	for range rounds {
		st.normalEquations(&l, sys)
		prior := st.priorCost(nil, &l)
		improved, folds := false, st.folds()
		for range 6 {
			delta, ok := sys.solveDamped(lambda)
			if !ok {
				lambda *= 10
				continue
			}
			limitSteps(delta, &l, &st.chain)
			st.tryStep(&trial, &l, delta)
			before, after := st.cost, trial.cost+st.priorCost(delta, &l)-prior
			if after < before && trial.folds() <= folds {
				gain := before - after
				*st, trial = trial, *st
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

// folds counts the pieces that set out or arrive against their chord, or whose
// handles' ends pass each other: a joint has slid past its neighbour, and the outline
// runs to and fro over the same samples.
func (st *fitState) folds() int {
	n := 0
	for _, s := range st.segments {
		chord := s.P3.Sub(s.P0)
		if !s.Straight && (s.P1.Sub(s.P0).Dot(chord) < 0 || s.P3.Sub(s.P2).Dot(chord) < 0 || s.P2.Sub(s.P1).Dot(chord) < 0) {
			n++
		}
	}
	return n
}

// room returns a copy of the state with arrays of its own.
func (st *fitState) room() fitState {
	t := *st
	t.piece, t.t = append([]int(nil), st.piece...), append([]float64(nil), st.t...)
	t.residual, t.normal = append([]float64(nil), st.residual...), append([]plane.Vec(nil), st.normal...)
	return t
}

// tryStep makes trial the state after a step. Only the blocks that take part differ.
func (st *fitState) tryStep(trial *fitState, l *fitLayout, delta []float64) {
	for _, k := range st.blocks {
		trial.piece[k], trial.t[k] = st.piece[k], st.t[k]
	}
	trial.cost = st.cost
	trial.chain = st.chain.moved(l, delta)
	trial.segments = trial.chain.segments()
	trial.powers = powersOf(trial.segments)
	trial.project()
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

// handleStretch returns the logarithms of the handles over those of the circular arc
// with the piece's chord and turn θ: (4/3) tan(θ/4) radii, or chord / 3cos²(θ/4).
func handleStretch(c *fitChain, i int) (float64, float64) {
	j := c.next(i)
	cos := math.Cos(turnBetween(c.joints[i].out, c.joints[j].in) / 4)
	arc := c.joints[i].at.DistanceTo(c.joints[j].at) / (3 * cos * cos)
	return math.Log(c.pieces[i].a / arc), math.Log(c.pieces[i].b / arc)
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
	st.astray = 0
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
		st.astray = math.Max(st.astray, math.Sqrt(best))
	}
}
