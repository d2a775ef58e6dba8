package curve

import (
	"math"
	"slices"
)

// fitResult is a finished chain with what it was fitted to.
type fitResult struct {
	tr    *fitTrace
	chain fitChain
	noise fitNoise
}

// fitted cuts the trace into pieces and improves them.
func (tr *fitTrace) fitted(params FitParams) fitResult {
	cut, noise := tr.cutIntoPieces(params)
	sel := fitSelector{tr: tr, params: params, noise: noise}
	chain := sel.improve(newFitChain(tr, cut, params))
	return fitResult{tr, chain, sel.noise}
}

// withCorners returns the trace, whose corners are not known yet, with these ones.
func (tr *fitTrace) withCorners(corners []fitCorner, params FitParams) *fitTrace {
	out := *tr
	out.blocks, out.normal = slices.Clone(tr.blocks), slices.Clone(tr.normal)
	out.bumps = slices.Clone(tr.bumps)
	out.corners = corners
	out.maskBeside(params)
	out.turnNormals()
	return &out
}

// bluntCorner is the turn, radians, below which a corner must be the shorter
// description: windows as short as the corner test's cannot tell it from a tight bend
// when the noise is strong. Smaller: corners invented on bends stay; larger: slower.
const bluntCorner = 0.6

// withoutBlunt fits again without the bluntest corner, as often as that describes the
// samples, those beside the corner included, more shortly. Which of many places has a corner is
// worth its logarithm, as a test made at all of them must be so much surer. tr is the trace without corners.
func (r fitResult) withoutBlunt(tr *fitTrace, params FitParams) fitResult {
	place := 2 * math.Log(tr.length/params.CornerFar)
	for {
		i := r.bluntest()
		if i < 0 {
			return r
		}
		rest := slices.Delete(slices.Clone(r.tr.corners), i, i+1)
		other := tr.withCorners(rest, params).fitted(params)
		if other.describedOn(other.tr, params) >= r.describedOn(other.tr, params)+place {
			return r
		}
		r = other
	}
}

// bluntest returns the number of the corner of least turn in the chain, if that is
// blunt; else -1.
func (r fitResult) bluntest() int {
	which, least := -1, bluntCorner
	for _, j := range r.chain.joints {
		if turn := math.Abs(turnBetween(j.in, j.out)); j.corner && turn < least {
			which, least = r.cornerAt(j.s), turn
		}
	}
	return which
}

// cornerAt returns the number of the trace's corner nearest to arc length s.
func (r fitResult) cornerAt(s float64) int {
	which, least := -1, math.Inf(1)
	for i, c := range r.tr.corners {
		if d := math.Abs(math.Remainder(c.s-s, r.tr.length)); d < least {
			which, least = i, d
		}
	}
	return which
}

// describedOn returns the description length of the trace by the chain.
func (r fitResult) describedOn(tr *fitTrace, params FitParams) float64 {
	f := fitSelector{tr: tr, params: params, noise: r.noise}
	robust := make([]float64, len(tr.blocks))
	for k := range robust {
		robust[k] = 1
	}
	score, _ := f.describe(newFitState(tr, r.chain, robust, 0))
	return score
}
