package curve

import "math"

// muteBumps takes the weight from stretches that leave the outline and come back,
// as where a stray mark touches the traced edge: a cubic through the flanks of
// the stretch fits them as well as anywhere, while the stretch itself lies off it
// to one side by far more than the noise. A notch is higher, a corner's flanks do
// not fit one cubic, and a long swell is shape.
func (tr *fitTrace) muteBumps(params FitParams) {
	data := tr.dataBetween(0, tr.length)
	half, flank := params.BumpLength/2, 1.5*params.BumpLength
	bumps := make([]fitBump, 0, len(data))
	var sizes []float64
	for _, d := range data {
		b, ok := tr.bumpAt(d.s, half, flank)
		if ok {
			bumps = append(bumps, b)
			sizes = append(sizes, b.flankRMS)
		}
	}
	typical := fitMedian(sizes)
	muted := make([]bool, len(tr.blocks))
	for _, b := range bumps {
		if b.flankRMS > 1.5*typical {
			continue
		}
		for _, k := range tr.bumpBlocks(b, math.Max(bumpLimit*b.flankRMS, 2*params.floor()), params) {
			muted[k] = true
		}
	}
	tr.mute(muted, params)
}

// mute takes the weight from the marked blocks, unless they are so many that the
// bumps are the outline's own.
func (tr *fitTrace) mute(muted []bool, params FitParams) {
	count := 0
	for _, m := range muted {
		if m {
			count++
		}
	}
	if count == 0 || float64(count) > params.BumpShare*float64(len(muted)) {
		return
	}
	for k, m := range muted {
		if m {
			tr.bumps = append(tr.bumps, fitMuted{k, tr.blocks[k].weight})
			tr.blocks[k].weight = 0
		}
	}
	for i, s := range tr.s {
		if muted[int(s/tr.h+0.5)%len(muted)] {
			tr.weight[i] = 0
		}
	}
	tr.sumUp()
	tr.strays += count * len(tr.at) / len(tr.blocks)
}

// fitMuted is a block that lost its weight, and what it was.
type fitMuted struct {
	block  int
	weight float64
}

// bumpLimit is how many robust standard deviations a stretch must leave what stands
// beside it to be a bump.
const bumpLimit = 6

// readmit gives those muted stretches their weight back whose blocks all lie near the
// outline after all: where the curvature jumps no one cubic follows both flanks, and
// honest samples look like a bump until the joint is found. noise is the standard
// deviation of a block. It reports whether there were any.
func (tr *fitTrace) readmit(st *fitState, noise float64) bool {
	any := false
	for i := 0; i < len(tr.bumps); {
		end, near := i, true
		for end < len(tr.bumps) && tr.bumps[end].block-tr.bumps[i].block == end-i {
			near = near && st.distanceOf(tr.bumps[end].block) < bumpLimit*noise
			end++
		}
		if !near {
			i = end
			continue
		}
		for _, m := range tr.bumps[i:end] {
			tr.blocks[m.block].weight = m.weight
			tr.strays -= len(tr.at) / len(tr.blocks)
		}
		tr.bumps = append(tr.bumps[:i], tr.bumps[end:]...)
		any = true
	}
	tr.strays = max(tr.strays, 0)
	return any
}

// distanceOf returns how far block k lies off the chain, whether it is used or not.
func (st *fitState) distanceOf(k int) float64 {
	b := st.tr.blocks[k]
	for i := range st.chain.pieces {
		from, to := st.chain.stretch(i, st.tr.length)
		s := b.s
		if s < from {
			s += st.tr.length
		}
		if s >= from && s < to {
			return nearDistance(st.segments[i], b.at, (s-from)/(to-from))
		}
	}
	return math.Inf(1)
}

// fitBump is a stretch about arc length s against the cubic through its flanks.
type fitBump struct {
	s, half  float64
	base     fitQuintic
	flankRMS float64
}

func (tr *fitTrace) bumpAt(s, half, flank float64) (fitBump, bool) {
	b := fitBump{s: s, half: half}
	a, z := s-half-flank, s+half+flank
	flanks := append(tr.dataBetween(a, s-half), tr.dataBetween(s+half, z)...)
	if len(flanks) < 12 {
		return b, false
	}
	q, ok := fitQuinticTo(flanks, a, z, 3)
	if !ok {
		return b, false
	}
	b.base = q
	var sum, w float64
	for _, d := range flanks {
		e := b.off(d)
		sum += d.w * e * e
		w += d.w
	}
	b.flankRMS = math.Sqrt(sum / w)
	return b, true
}

// off returns how far a block lies to the left of the base.
func (b fitBump) off(d fitDatum) float64 {
	u := (2*d.s - b.base.s0 - b.base.s1) / (b.base.s1 - b.base.s0)
	return b.base.along(u).Unit().Cross(d.at.Sub(b.base.at(u)))
}

// bumpBlocks returns the blocks of the stretch that lie off by a good part of its
// height, if at least two stand above the limit and none higher than a stray mark
// may be.
func (tr *fitTrace) bumpBlocks(b fitBump, limit float64, params FitParams) []int {
	inside := tr.dataBetween(b.s-b.half, b.s+b.half)
	above, top := 0, 0.0
	for _, d := range inside {
		e := b.off(d)
		if math.Abs(e) > limit {
			above++
		}
		if math.Abs(e) > math.Abs(top) {
			top = e
		}
	}
	if above < 2 || math.Abs(top) > params.BumpHeight {
		return nil
	}
	var out []int
	for _, d := range inside {
		if e := b.off(d); e*top > 0 && math.Abs(e) > math.Max(0.15*math.Abs(top), limit/3) {
			out = append(out, int(d.s/tr.h+0.5+float64(len(tr.blocks)))%len(tr.blocks))
		}
	}
	return out
}
