package curve

import "math"

// describeCut returns the description length of a cut and the noise it implies.
func (tr *fitTrace) describeCut(pieces []fitPiece, params FitParams) (float64, fitNoise) {
	e, missing, clipped := tr.cutResiduals(pieces)
	return tr.description(e, missing, cutNumbers(pieces)+float64(clipped), params)
}

// description returns the description length of residuals and free numbers.
func (tr *fitTrace) description(e []float64, missing int, numbers float64, params FitParams) (float64, fitNoise) {
	tr.bridgeResiduals(e)
	l, noise := likelihood(bandsOf(tr.fourier, e, tr.h, missing), tr.h, params.Floor*params.Floor)
	return l + tr.price(params)*numbers, noise
}

// bridgeResiduals fills the blocks without a residual by straight lines between
// their neighbours, lest the gaps look like noise.
func (tr *fitTrace) bridgeResiduals(e []float64) {
	n := len(e)
	first := 0
	for first < n && !tr.usable(first) {
		first++
	}
	for k := first; k < first+n; {
		end := k + 1
		for end < first+n && !tr.usable(end%n) {
			end++
		}
		for i := k + 1; i < end; i++ {
			u := float64(i-k) / float64(end-k)
			e[i%n] = (1-u)*e[k%n] + u*e[end%n]
		}
		k = end
	}
}

func (tr *fitTrace) usable(k int) bool { return !tr.blocks[k].masked && tr.blocks[k].weight > 0 }

// price returns what one free number must earn in minus twice the log likelihood.
func (tr *fitTrace) price(params FitParams) float64 {
	return params.Cost * math.Log(float64(len(tr.blocks)))
}

// cutNumbers counts the free numbers of a chain: two coordinates a joint, two
// handles a cubic, one direction between two cubics.
func cutNumbers(pieces []fitPiece) float64 {
	sum := 0.0
	for i, p := range pieces {
		sum += 2
		if !p.line {
			sum += 2
			if !pieces[(i+1)%len(pieces)].line {
				sum++
			}
		}
	}
	return sum
}

// cutResiduals returns how far each block lies off its piece of the cut, across
// the outline and clipped; the number of blocks without; the number clipped.
func (tr *fitTrace) cutResiduals(pieces []fitPiece) (residual []float64, missing, clipped int) {
	out := make([]float64, len(tr.blocks))
	missing = len(tr.blocks)
	for _, p := range pieces {
		data := tr.dataBetween(p.s0, p.s1)
		e := pieceResiduals(p, data)
		for i, d := range data {
			k := int(d.s/tr.h+0.5+float64(len(tr.blocks))) % len(tr.blocks)
			out[k] = e[i]
			missing--
		}
	}
	return out, missing, clipResiduals(out)
}

// pieceResiduals returns how far the data lie off a piece of the cut, across the
// outline.
func pieceResiduals(p fitPiece, data []fitDatum) []float64 {
	out := make([]float64, len(data))
	line := p.line || len(data) < 4
	ray := fitRay{}
	if line {
		ray = rayOf(data)
	}
	for i, d := range data {
		if line {
			out[i] = ray.along.Cross(d.at.Sub(ray.at))
			continue
		}
		u := (2*d.s - p.s0 - p.s1) / (p.s1 - p.s0)
		out[i] = d.at.Sub(p.iv.quintic.at(u)).Dot(d.normal)
	}
	return out
}

// clipResiduals limits each to four robust standard deviations, so that a stray
// mark does not pass for noise, and returns how many were. Each must be paid for
// like a free number, or a bad fit would pass for a row of stray marks.
func clipResiduals(e []float64) int {
	size := make([]float64, 0, len(e))
	for _, v := range e {
		if v != 0 {
			size = append(size, math.Abs(v))
		}
	}
	limit := 4 * 1.4826 * fitMedian(size)
	clipped := 0
	for i, v := range e {
		if math.Abs(v) > limit {
			e[i] = math.Copysign(limit, v)
			clipped++
		}
	}
	return clipped
}
