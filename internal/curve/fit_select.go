package curve

import (
	"math"
)

// fitSelector chooses how many pieces the chain has, by description length.
type fitSelector struct {
	tr     *fitTrace
	params FitParams
	noise  fitNoise
}

// scored is a solved chain with its description length.
type scored struct {
	st    *fitState
	score float64
}

// fitChanges bounds the changes to the first cut; a handful is usual.
const fitChanges = 20

func (f *fitSelector) improve(chain fitChain) fitChain {
	robust := make([]float64, len(f.tr.blocks))
	for k := range robust {
		robust[k] = 1
	}
	best := f.solved(chain, robust, 15)
	f.reweigh(best.st, robust)
	best = f.solved(best.st.chain, robust, 15)
	if f.params.Resolution > 0 {
		best.st = f.coarsen(best.st, robust)
	}
	for n := 0; n < fitChanges && f.params.Resolution == 0; n++ {
		next, ok := f.bestChange(best, robust)
		if !ok {
			break
		}
		best = next
		f.reweigh(best.st, robust)
	}
	best.st.solve(40, 1e-10)
	f.reweigh(best.st, robust)
	best.st.project()
	best.st.solve(60, 1e-12)
	_, f.noise = f.describe(best.st)
	return best.st.chain
}

func (f *fitSelector) solved(chain fitChain, robust []float64, rounds int) scored {
	st := newFitState(f.tr, chain, robust, f.pull())
	st.solve(rounds, 1e-6)
	score, _ := f.describe(st)
	return scored{st, score}
}

// pull returns the weight of the prior on handles: a handle off by a factor of e
// costs two standard deviations. Where the resolution decides, it costs HandlePull
// of them, squared: among outlines within the resolution the rounder one is fairer.
func (f *fitSelector) pull() float64 {
	r, v := f.params.Resolution, f.params.Floor
	return math.Max(4*math.Max(f.noise.slow(f.tr.h), v*v), f.params.HandlePull*r*r)
}

// describe returns the description length of the chain and its residuals, and
// the noise that gives it.
func (f *fitSelector) describe(st *fitState) (float64, fitNoise) {
	e := make([]float64, len(st.residual))
	missing := 0
	for k := range e {
		if !st.used(k) {
			missing++
			continue
		}
		e[k] = st.residual[k]
	}
	clipped := clipResiduals(e)
	return f.tr.description(e, missing, float64(st.chain.numbers()+clipped), f.params)
}

// reweigh lowers the weight of blocks that lie far off, (1 + (r/kσ)²)^-2, with a
// robust σ: Geman and McClure's function, which ignores what is hopeless.
func (f *fitSelector) reweigh(st *fitState, robust []float64) {
	var size []float64
	for k, e := range st.residual {
		if st.used(k) {
			size = append(size, math.Abs(e)*math.Sqrt(math.Min(1, st.tr.blocks[k].weight)))
		}
	}
	limit := math.Max(f.params.Outlier*1.4826*fitMedian(size), 2*f.params.FairPeak*f.params.Resolution)
	if limit == 0 {
		return
	}
	for k, e := range st.residual {
		q := e / limit
		robust[k] = 1 / ((1 + q*q) * (1 + q*q))
		if math.Abs(q) < 0.6 {
			robust[k] = 1
		}
	}
}

// bestChange tries every merge, straightening and split, and returns the one that
// shortens the description most.
func (f *fitSelector) bestChange(now scored, robust []float64) (scored, bool) {
	best, found := now, false
	try := func(chain fitChain, piece int, ok bool) {
		if !ok {
			return
		}
		st := f.nearby(now.st, chain, min(piece, len(chain.pieces)-1), robust)
		st.solve(5, 1e-4)
		if score, _ := f.describe(st); score < best.score-1e-6 && f.sound(st) {
			best, found = scored{st, score}, true
		}
	}
	m := len(now.st.chain.joints)
	for j := range m {
		chain, ok := f.merged(now.st, j)
		try(chain, (j+m-1)%m, ok)
		chain, ok = f.straightened(now.st, j)
		try(chain, j, ok)
		chain, ok = f.split(now.st, j)
		try(chain, j, ok)
	}
	if found {
		best = f.solved(best.st.chain, robust, 10)
	}
	return best, found
}

// sound reports whether every cubic turns at most PieceTurn and the chain's lines
// beside smooth joints are proven straight.
func (f *fitSelector) sound(st *fitState) bool {
	for i, p := range st.chain.pieces {
		if !p.line && math.Abs(cubicTurn(st.segments[i])) > f.params.PieceTurn*1.1 {
			return false
		}
	}
	return true
}

func cubicTurn(s Segment) float64 {
	return turnBetween(s.P1.Sub(s.P0).Angle(), s.P3.Sub(s.P2).Angle())
}

// merged returns the chain with the smooth joint j taken out and its two pieces
// replaced by one cubic.
func (f *fitSelector) merged(st *fitState, j int) (fitChain, bool) {
	m := len(st.chain.joints)
	if st.chain.joints[j].corner || m <= 3 {
		return fitChain{}, false
	}
	c := st.chain.clone()
	i := c.prev(j)
	la, lb := f.lengthOf(st, i), f.lengthOf(st, j)
	a, b := c.pieces[i].a, c.pieces[j].b
	if c.pieces[i].line {
		a = la / 3
	}
	if c.pieces[j].line {
		b = lb / 3
	}
	c.pieces[i] = fitArm{a: a * (la + lb) / la, b: b * (la + lb) / lb}
	c.joints = append(c.joints[:j], c.joints[j+1:]...)
	c.pieces = append(c.pieces[:j], c.pieces[j+1:]...)
	if math.Abs(turnBetween(st.chain.joints[i].out, st.chain.joints[st.chain.next(j)].in)) > f.params.PieceTurn {
		return fitChain{}, false
	}
	return c, true
}

// lengthOf returns the arc length of the samples along piece i.
func (f *fitSelector) lengthOf(st *fitState, i int) float64 {
	d := st.chain.joints[st.chain.next(i)].s - st.chain.joints[i].s
	if d <= 0 {
		d += f.tr.length
	}
	return d
}

// straightened returns the chain with cubic i made a line, if it could be one.
func (f *fitSelector) straightened(st *fitState, i int) (fitChain, bool) {
	c := st.chain.clone()
	p := st.segments[i]
	if c.pieces[i].line {
		return c, false
	}
	j := c.next(i)
	smooth := !c.joints[i].corner || !c.joints[j].corner
	if c.pieces[c.prev(i)].line && !c.joints[i].corner || c.pieces[j].line && !c.joints[j].corner {
		return c, false
	}
	length := p.P0.DistanceTo(p.P3)
	if smooth && length < f.params.LineSure {
		_, noise := f.describe(st)
		bend := math.Abs(cubicTurn(p))/length + 2*math.Sqrt(720*noise.slow(f.tr.h)*f.tr.h/length)/(length*length)
		if length < f.params.LineLength || bend > 1/f.params.LineRadius {
			return c, false
		}
	}
	c.pieces[i] = fitArm{line: true}
	c.aim()
	return c, true
}

// split returns the chain with cubic i cut in half.
func (f *fitSelector) split(st *fitState, i int) (fitChain, bool) {
	c := st.chain.clone()
	if c.pieces[i].line || f.lengthOf(st, i) < 6*f.tr.h || len(c.pieces) >= f.params.MaxPieces {
		return c, false
	}
	a, b := st.segments[i].Split(0.5)
	dir := a.P3.Sub(a.P2).Angle()
	s := c.joints[i].s + f.lengthOf(st, i)/2
	joint := fitJoint{at: a.P3, s: s - math.Floor(s/f.tr.length)*f.tr.length, in: dir, out: dir}
	arms := [2]fitArm{{a: a.P0.DistanceTo(a.P1), b: a.P2.DistanceTo(a.P3)},
		{a: b.P0.DistanceTo(b.P1), b: b.P2.DistanceTo(b.P3)}}
	c.joints = append(c.joints[:i+1], append([]fitJoint{joint}, c.joints[i+1:]...)...)
	c.pieces = append(c.pieces[:i], append(arms[:], c.pieces[i+1:]...)...)
	return c, true
}
