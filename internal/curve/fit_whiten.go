package curve

import "math"

// fitWhitener turns residuals that err together into independent ones of equal size:
// with C = LLᵀ their covariance, z = L⁻¹e has covariance 1, and least squares on z is
// the best linear estimate (Aitken, On least squares and linear combination of
// observations, 1935). Plain least squares loses most at the ends of short edges,
// where corners hang.
//
// C is banded: Gaussian correlation ends within a few lengths. Across the outline
// neighbours err together only as far as their normals agree, so not round a corner.
type fitWhitener struct {
	blocks []int       // as in fitState, ascending
	lower  [][]float64 // row i of L: entries i-len+1 … i
	scale  float64     // mm², the variance that makes slow combinations of z as large as those of e
}

// whitenReach is the number of correlation lengths after which errors count as
// independent: exp(-3.5²/4) is 5 %, exp(-5²/4) 0.2 %.
const whitenReach = 5

// newFitWhitener returns the whitener for the blocks of a state and a noise; nil if the noise
// is as good as white, or too long to tell from shape.
func newFitWhitener(st *fitState, noise fitNoise, floor float64) *fitWhitener {
	h := st.tr.h
	reach := int(whitenReach * noise.c / h)
	if noise.correlated < 0.05 || reach < 1 || len(st.blocks) < 4*reach {
		return nil
	}
	w := &fitWhitener{blocks: st.blocks, lower: make([][]float64, len(st.blocks)), scale: noise.slow(h)}
	for i := range st.blocks {
		first := max(0, i-reach)
		row := make([]float64, i-first+1)
		for j := first; j <= i; j++ {
			row[j-first] = w.covariance(st, i, j, noise, floor)
		}
		if !w.factorRow(row, i, first) {
			return nil
		}
		w.lower[i] = row
	}
	return w
}

// covariance returns that of the residuals at places i and j of the list, mm².
func (w *fitWhitener) covariance(st *fitState, i, j int, noise fitNoise, floor float64) float64 {
	k, l := w.blocks[i], w.blocks[j]
	a, b := &st.tr.blocks[k], &st.tr.blocks[l]
	gap := math.Abs(a.s - b.s)
	gap = math.Min(gap, st.tr.length-gap) / noise.c
	v := noise.variance * noise.correlated * math.Exp(-gap*gap/4) * st.normal[k].Dot(st.normal[l])
	if i == j {
		v += (noise.variance*(1-noise.correlated) + floor) / (a.weight * st.robust[k])
	}
	return v
}

// factorRow makes row i of the covariance, from column first on, row i of its
// Cholesky factor.
func (w *fitWhitener) factorRow(row []float64, i, first int) bool {
	for j := first; j <= i; j++ {
		other := row
		if j < i {
			other = w.lower[j]
		}
		start := j - len(other) + 1 // first column of row j
		if j == i {
			start = first
		}
		sum := row[j-first]
		for k := max(first, start); k < j; k++ {
			sum -= row[k-first] * other[k-start]
		}
		if j < i {
			row[j-first] = sum / other[j-start]
		} else if sum <= 0 {
			return false
		} else {
			row[j-first] = math.Sqrt(sum)
		}
	}
	return true
}

// apply replaces the columns e, width of them to a row, by L⁻¹e.
func (w *fitWhitener) apply(e []float64, width int) {
	for i, row := range w.lower {
		own := e[i*width : (i+1)*width]
		first := i - len(row) + 1
		for k, f := range row[:len(row)-1] {
			other := e[(first+k)*width : (first+k+1)*width]
			for c := range own {
				own[c] -= f * other[c]
			}
		}
		d := 1 / row[len(row)-1]
		for c := range own {
			own[c] *= d
		}
	}
}

// cost returns scale × zᵀz for the residuals of the state.
func (w *fitWhitener) cost(residual []float64) float64 {
	z := make([]float64, len(w.blocks))
	for i, k := range w.blocks {
		z[i] = residual[k]
	}
	w.apply(z, 1)
	sum := 0.0
	for _, v := range z {
		sum += v * v
	}
	return w.scale * sum
}

// equations adds J'C⁻¹J and J'C⁻¹r, times scale, to the system.
func (w *fitWhitener) equations(st *fitState, l *fitLayout, s *fitSystem) {
	width := s.n + 1
	rows := make([]float64, len(w.blocks)*width)
	var row fitRow
	for i, k := range w.blocks {
		own := rows[i*width : (i+1)*width]
		st.chain.jacobian(l, st.piece[k], st.t[k], st.normal[k], &row)
		for p := 0; p < row.n; p++ {
			if c := s.place[row.index[p]]; c >= 0 {
				own[c] += row.value[p]
			}
		}
		own[s.n] = st.residual[k]
	}
	w.apply(rows, width)
	for i := range w.blocks {
		own := rows[i*width : (i+1)*width]
		for p, v := range own[:s.n] {
			if v == 0 {
				continue
			}
			v *= w.scale
			s.g[p] += v * own[s.n]
			line := s.a[p*s.n : p*s.n+p+1]
			for q := range line {
				line[q] += v * own[q]
			}
		}
	}
}
