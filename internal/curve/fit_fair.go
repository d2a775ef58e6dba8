package curve

import "math"

// A hand wanders by some tenths of a millimetre over centimetres. Statistics cannot
// tell that from shape, so a maker's word decides: params.Resolution. The outline
// then has the fewest pieces that no stretch of samples leaves by more.

// fitDeparture returns by how much the averaged residuals leave zero: the rms over
// leeway, or the peak over FairPeak and the root of leeway if that is more, mm. n is
// their number and at(k) gives residual and weight.
func fitDeparture(n int, h, leeway float64, params FitParams, at func(k int) (e, w float64)) float64 {
	half := int(params.FairWindow / 2 / h)
	sums, weights := make([]float64, n+1), make([]float64, n+1)
	for k := range n {
		e, w := at(k)
		sums[k+1], weights[k+1] = sums[k]+w*e, weights[k]+w
	}
	var square, weight, peak float64
	for k := range n {
		a, b := max(0, k-half), min(n, k+half+1)
		own, room := weights[k+1]-weights[k], weights[b]-weights[a]
		if own < 0.05 || b-a <= half/2 {
			continue // no sample, or a stretch too short to average out noise
		}
		mean := (sums[b] - sums[a]) / room
		square += own * mean * mean
		weight += own
		peak = math.Max(peak, math.Abs(mean))
	}
	if weight == 0 {
		return 0
	}
	return math.Max(math.Sqrt(square/weight)/leeway, peak/(params.FairPeak*math.Sqrt(leeway)))
}

// departure returns how far the samples leave piece i; a line has EdgeLeeway.
func (f *fitSelector) departure(st *fitState, i int) float64 {
	h, n := f.tr.h, len(f.tr.blocks)
	a, b := st.chain.stretch(i, f.tr.length)
	first, last := int(math.Ceil(a/h-0.5)), int(math.Ceil(b/h-0.5))
	leeway := 1.0
	if st.chain.pieces[i].line {
		leeway = f.params.EdgeLeeway
	}
	return fitDeparture(last-first, h, leeway, f.params, func(k int) (float64, float64) {
		k = ((first+k)%n + n) % n
		if !st.used(k) {
			return 0, 0
		}
		return st.residual[k], st.robust[k] * math.Min(1, f.tr.blocks[k].weight)
	})
}

// worstDeparture returns the piece that the samples leave farthest and by how much.
func (f *fitSelector) worstDeparture(st *fitState) (int, float64) {
	which, worst := 0, 0.0
	for i := range st.chain.pieces {
		if d := f.departure(st, i); d > worst {
			which, worst = i, d
		}
	}
	return which, worst
}

// fairNodes is how much wider the places for joints stand when the resolution
// decides: the joints settle by themselves, and the time goes with the square.
const fairNodes = 1.5

// coarsestCut returns the cut into the fewest pieces whose samples stay within the
// resolution. It has lines only from corner to corner: what else is straight is
// told from a bow when its neighbours are known, see straightenEdges.
func (tr *fitTrace) coarsestCut(params FitParams) ([]fitPiece, fitNoise) {
	params.NodeStep *= fairNodes
	params.LineLength, params.LineSure = math.Inf(1), math.Inf(1)
	var cut []fitPiece
	for _, sp := range tr.spans(params) {
		sp.measure(tr, 16*params.Resolution*params.Resolution, params)
		for sigma := 4 * params.Resolution; ; sigma /= 1.4 {
			pieces := sp.cheapest(sigma*sigma, tr, params)
			if sigma < 0.1*params.Resolution || tr.cutDeparture(pieces, params) <= params.Resolution {
				cut = append(cut, pieces...)
				break
			}
		}
	}
	_, noise := tr.describeCut(cut, params)
	return cut, noise
}

// cutDeparture returns how far the samples leave the worst of the pieces.
func (tr *fitTrace) cutDeparture(pieces []fitPiece, params FitParams) float64 {
	worst := 0.0
	for _, p := range pieces {
		data := tr.dataBetween(p.s0, p.s1)
		residual := pieceResiduals(p, data)
		worst = math.Max(worst, fitDeparture(len(data), tr.h, 1, params, func(k int) (float64, float64) {
			return residual[k], math.Min(1, data[k].w)
		}))
	}
	return worst
}

// coarsen splits what leaves the samples by more than the resolution, takes out
// every joint that the resolution does not need, the least needed first, and
// straightens what is straight within it.
func (f *fitSelector) coarsen(st *fitState, robust []float64) *fitState {
	for range fitChanges {
		i, d := f.worstDeparture(st)
		if d <= f.params.Resolution {
			break
		}
		chain, ok := f.split(st, i)
		if !ok {
			break
		}
		st = f.settled(chain, robust, 10)
	}
	straighten, merge := fitAttempts{change: f.straightenFrom}, fitAttempts{change: f.mergeAt}
	for _, try := range [...]*fitAttempts{&straighten, &merge, &straighten, &merge} {
		for ok := true; ok; {
			var piece int
			st, piece, ok = f.leastChange(st, robust, try)
			if ok {
				straighten.forget(&st.chain, piece)
				merge.forget(&st.chain, piece)
			}
		}
	}
	return f.settled(st.chain, robust, 10)
}

// settled solves the chain.
func (f *fitSelector) settled(chain fitChain, robust []float64, rounds int) *fitState {
	st := newFitState(f.tr, chain, robust, f.pull())
	st.solve(rounds, 1e-4)
	return st
}

// fitChange changes the chain at joint j and returns the piece that is new.
type fitChange func(st *fitState, j int) (chain fitChain, piece int, ok bool)

func (f *fitSelector) mergeAt(st *fitState, j int) (fitChain, int, bool) {
	chain, ok := f.merged(st, j)
	if !ok {
		return chain, 0, false
	}
	return chain, min(st.chain.prev(j), len(chain.pieces)-1), true
}

// leastChange returns the chain after the one change, of those that keep it within
// the resolution, after which the samples leave the changed part least; and the new piece.
func (f *fitSelector) leastChange(st *fitState, robust []float64, try *fitAttempts) (*fitState, int, bool) {
	off := try.offsets(f, st, robust)
	_, least := f.worstDeparture(st)
	least = math.Max(f.params.Resolution, math.Min(least, 1.25*f.params.Resolution))
	for {
		which, lowest := -1, least
		for j, d := range off {
			if d <= lowest {
				which, lowest = j, d
			}
		}
		if which < 0 {
			return st, 0, false
		}
		// What was found out before the last change elsewhere may no longer hold.
		trial, piece, d := f.tryChange(st, robust, try.change, which)
		if trial != nil && d <= least {
			return f.settled(trial.chain, robust, 6), piece, true
		}
		off[which] = math.Inf(1)
		try.remember(st.chain.joints[which].name, off[which])
	}
}

// tryChange returns the chain changed at joint j and how far the samples leave its
// changed part; nil if there is no such change or it is out of the question.
func (f *fitSelector) tryChange(st *fitState, robust []float64, change fitChange, j int) (*fitState, int, float64) {
	chain, i, ok := change(st, j)
	if !ok {
		return nil, 0, math.Inf(1)
	}
	trial := f.nearby(st, chain, i, robust)
	trial.solve(3, 1e-3)
	if f.activeDeparture(trial, i) > 3*f.params.Resolution {
		return nil, 0, math.Inf(1)
	}
	trial.solve(6, 1e-4)
	if !f.sound(trial) || trial.folds() > st.folds() {
		return nil, 0, math.Inf(1)
	}
	return trial, i, f.activeDeparture(trial, i)
}

// activeDeparture returns how far the samples leave piece i and those beside it.
func (f *fitSelector) activeDeparture(st *fitState, i int) float64 {
	c := &st.chain
	d := math.Max(f.departure(st, c.prev(i)), f.departure(st, c.next(i)))
	return math.Max(d, f.departure(st, i))
}
