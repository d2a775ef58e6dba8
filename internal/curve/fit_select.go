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
	if f.params.Resolution == 0 {
		best = f.shortened(best, robust)
		if f.tr.readmit(best.st, f.typical(best.st)) {
			best = f.shortened(f.solved(best.st.chain, robust, 15), robust)
		}
	}
	best.st.solve(40, 1e-10)
	f.reweigh(best.st, robust)
	best.st.project()
	best.st.solve(60, 1e-12)
	_, f.noise = f.describe(best.st)
	return best.st.chain
}

// shortened changes the chain as long as its description gets shorter.
func (f *fitSelector) shortened(best scored, robust []float64) scored {
	var stale fitStale
	for range fitChanges {
		next, ok := f.bestChange(best, robust, &stale)
		if !ok {
			break
		}
		best = next
		f.reweigh(best.st, robust)
	}
	return best
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

// fitTrusted is the share of the limit up to which a block keeps its weight. If large
// but honest errors lost weight, a misplaced joint would find its own misfit unimportant.
const fitTrusted = 0.75

// reweigh lowers the weight of blocks that lie far off, with a robust σ, by Geman and
// McClure's function, which ignores what is hopeless: (1 + q²)^-2 with q² measured from
// fitTrusted on, and a quarter at the limit.
func (f *fitSelector) reweigh(st *fitState, robust []float64) {
	limit := math.Max(f.params.Outlier*f.typical(st), 2*f.params.FairPeak*f.params.Resolution)
	if limit == 0 {
		return
	}
	for k, e := range st.residual {
		robust[k] = 1
		if q := e / limit; math.Abs(q) > fitTrusted {
			v := (1 - fitTrusted*fitTrusted) / (1 - 2*fitTrusted*fitTrusted + q*q)
			robust[k] = v * v
		}
	}
}

// typical returns the robust standard deviation of the residuals of full blocks.
func (f *fitSelector) typical(st *fitState) float64 {
	var size []float64
	for k, e := range st.residual {
		if st.used(k) {
			size = append(size, math.Abs(e)*math.Sqrt(math.Min(1, st.tr.blocks[k].weight)))
		}
	}
	return 1.4826 * fitMedian(size)
}

// fitTrial is a changed chain, solved about its changed piece.
type fitTrial struct {
	scored
	piece int
}

// bestChange tries every change at the joints that are stale and returns the one that
// shortens the description most.
func (f *fitSelector) bestChange(now scored, robust []float64, stale *fitStale) (scored, bool) {
	_, f.noise = f.describe(now.st)
	joints := stale.of(&now.st.chain)
	trials := make([]fitTrial, len(joints))
	inTwo(len(joints), func(i int) { trials[i] = f.bestAt(now, robust, joints[i]) })
	best := fitTrial{scored: now}
	for i, trial := range trials {
		if trial.st == nil {
			continue
		}
		stale.keep(now.st.chain.joints[joints[i]].name) // it would help here, too
		if trial.score < best.score {
			best = trial
		}
	}
	if best.st == now.st {
		return now, false
	}
	stale.about(&best.st.chain, best.piece)
	return f.solved(best.st.chain, robust, 10), true
}

// bestAt returns the best of the changes at joint j that shorten the description.
func (f *fitSelector) bestAt(now scored, robust []float64, j int) fitTrial {
	best := fitTrial{scored: scored{score: now.score - 1e-6}}
	try := func(chain fitChain, piece int, ok bool) {
		if !ok {
			return
		}
		piece = min(piece, len(chain.pieces)-1)
		st, ok := f.promising(now.st, chain, piece, robust)
		if !ok {
			return
		}
		if score, _ := f.describe(st); score < best.score && f.sound(st) {
			best = fitTrial{scored{st, score}, piece}
		}
	}
	chain, ok := f.merged(now.st, j)
	try(chain, now.st.chain.prev(j), ok)
	chain, ok = f.straightened(now.st, j)
	try(chain, j, ok)
	if f.structured(now.st, j) {
		chain, ok = f.split(now.st, j)
		try(chain, j, ok)
	}
	chain, ok = f.evened(now.st, j)
	try(chain, j, ok)
	chain, piece, ok := f.absorbed(now.st, j)
	try(chain, piece, ok)
	for _, t := range [...]float64{-0.2, 0.2} {
		chain, ok = f.slid(now.st, j, t)
		try(chain, j, ok)
	}
	return best
}

// promising solves a changed chain about its new piece; ok is false as soon as the sum of
// squares alone says that the description gets longer.
func (f *fitSelector) promising(from *fitState, chain fitChain, piece int, robust []float64) (*fitState, bool) {
	st := f.nearby(from, chain, piece, robust)
	price := f.tr.price(f.params)
	numbers := price * float64(chain.numbers()-from.chain.numbers())
	before := from.squares()
	for _, stage := range [...]struct {
		rounds int
		margin float64 // free numbers' worth of hope
	}{{3, 100}, {5, 10}, {8, 3}} {
		st.solve(stage.rounds, 1e-4)
		if (st.squares()-before)/f.noise.slow(f.tr.h)+numbers > stage.margin*price {
			return nil, false
		}
	}
	return st, true
}

// squares returns the weighted sum of squares of all blocks that count, mm².
func (st *fitState) squares() float64 {
	sum := 0.0
	for k, e := range st.residual {
		if st.used(k) {
			sum += st.tr.blocks[k].weight * st.robust[k] * e * e
		}
	}
	return sum
}

// structured reports whether the residuals along piece i hold more than noise: whether
// their slow cosines, of which another joint could take up a few, are worth its
// numbers.
func (f *fitSelector) structured(st *fitState, i int) bool {
	const waves = 12
	var e []float64
	a, b := st.chain.stretch(i, f.tr.length)
	h, n := f.tr.h, len(f.tr.blocks)
	for k := int(math.Ceil(a / h)); float64(k)*h < b; k++ {
		if q := k % n; st.used(q) {
			e = append(e, st.residual[q]*math.Sqrt(st.tr.blocks[q].weight*st.robust[q]))
		}
	}
	worth := 0.0
	for wave := range waves {
		sum := 0.0
		for k, v := range e {
			sum += v * math.Cos(math.Pi*float64(wave+1)*(float64(k)+0.5)/float64(len(e)))
		}
		worth += 2 * sum * sum / float64(max(len(e), 1))
	}
	// A joint with a direction and two handles.
	return worth/f.noise.slow(h) > 5*f.tr.price(f.params)
}

// strayJoint is how many masks a joint may lie off the samples: a corner drawn with a
// pen of CornerRadius does so by a part of that; one farther off hangs on to a short
// piece that no samples hold.
const strayJoint = 3

// sound reports whether every cubic turns at most PieceTurn and every joint lies by the
// samples.
func (f *fitSelector) sound(st *fitState) bool {
	if st.astray > strayJoint*f.params.CornerMask {
		return false
	}
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
	joint := fitJoint{at: a.P3, s: s - math.Floor(s/f.tr.length)*f.tr.length, in: dir, out: dir, name: c.newName()}
	arms := [2]fitArm{{a: a.P0.DistanceTo(a.P1), b: a.P2.DistanceTo(a.P3)},
		{a: b.P0.DistanceTo(b.P1), b: b.P2.DistanceTo(b.P3)}}
	c.joints = append(c.joints[:i+1], append([]fitJoint{joint}, c.joints[i+1:]...)...)
	c.pieces = append(c.pieces[:i], append(arms[:], c.pieces[i+1:]...)...)
	return c, true
}
