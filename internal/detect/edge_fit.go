package detect

import "math"

// A profile across a pen line is modelled as two blurred steps on a ground that
// may slope and may differ on the two sides:
//
//	f(t) = gL + s·t + (k + m·t - gL)·F((t-a)/w) + (gR - k - m·t)·F((t-b)/w)
//
// with F the normal distribution (a Gaussian blur of w), k + m·t the ink, whose
// density may lean to one side, and a, b its two edges. Each edge so has its own
// half level, which keeps the middle (a+b)/2 free of bias from one-sided
// contrast and shading (the aim of Steger, "An unbiased detector of curvilinear
// structures", PAMI 20, 1998, reached here by fitting). A single edge is the
// same with one step.

// Order of the unknowns in a line fit.
const (
	groundIn = iota
	groundOut
	slope
	inkLevel
	inkLean
	edgeIn
	edgeOut
	lineUnknowns
)

// fitLine improves a rough reading by least squares (Gauss-Newton with a little
// damping), given the blur in millimetres. Samples that do not belong (writing
// beside the line) lose weight by Huber's rule.
func fitLine(q *probe, rough reading, blur, reach float64) reading {
	var x [lineUnknowns]float64
	mid := rough.middle()
	lo := max(0, int((rough.inner-reach-q.start)/q.step))
	hi := min(len(q.light), int((rough.outer+reach-q.start)/q.step)+2)
	if hi-lo < 10 {
		return reading{}
	}
	k := clamp((mid-q.start)/q.step, 1, float64(len(q.light)-2))
	x[inkLevel] = q.light[int(k)]
	x[groundIn] = quantile(append([]float64(nil), q.light[lo:lo+max(3, (hi-lo)/5)]...), 0.5)
	x[groundOut] = quantile(append([]float64(nil), q.light[hi-max(3, (hi-lo)/5):hi]...), 0.5)
	x[edgeIn], x[edgeOut] = rough.inner-mid, rough.outer-mid
	lean := rough.width() > 5*blur
	var n normal7
	scale := math.Inf(1)
	contrast := math.Max(1, math.Min(x[groundIn], x[groundOut])-x[inkLevel])
	for pass := range 5 {
		n = normal7{}
		n.expect(&x, slope, shadingMM*math.Max(x[groundIn], x[groundOut]), scale)
		n.expect(&x, inkLean, leanShare*contrast/math.Max(rough.width(), blur), scale)
		sum, count := 0.0, 0.0
		for i := lo; i < hi; i++ {
			t := q.t(i) - mid
			f, j := lineModel(&x, t, blur, lean)
			res := q.light[i] - f
			w := precision(f)
			if a := math.Abs(res) * math.Sqrt(w); a > 2.5*scale {
				w *= 2.5 * scale / a
			}
			n.add(&j, res, w)
			sum += w * res * res
			count++
		}
		scale = math.Sqrt(sum/math.Max(1, count-lineUnknowns)) + 0.05
		if !n.solve(1e-4) {
			return reading{}
		}
		for u := range x {
			x[u] += n.x[u]
		}
		x[edgeIn], x[edgeOut] = clampStep(x[edgeIn], x[edgeOut], rough, mid)
		if pass > 1 && math.Abs(n.x[edgeIn])+math.Abs(n.x[edgeOut]) < 0.002 {
			break
		}
	}
	// Neighbouring samples share pixels: two readings and three rows a pixel.
	variance := 1.5 * scale * scale * (n.inverse(edgeIn, edgeIn) + n.inverse(edgeOut, edgeOut) + 2*n.inverse(edgeIn, edgeOut)) / 4
	out := rough
	out.inner, out.outer = x[edgeIn]+mid, x[edgeOut]+mid
	out.contrast = darkening(math.Min(x[groundIn], x[groundOut]), x[inkLevel])
	out.sigma = math.Sqrt(math.Max(0, variance))
	out.misfit = scale
	out.ok = out.outer > out.inner && out.contrast > 0
	return out
}

// precision returns the weight of a sample of the given light (0 to 255): the
// noise of a finished picture is about even in grey, so that of light goes with
// the slope of the tone curve, and the weight with its inverse square. sRGB has
// light ~ grey^2.4, hence a slope ~ light^(1-1/2.4); the weight is 1 at middle
// grey's light and is held where the picture is almost black.
func precision(light float64) float64 {
	const middle = 55.0
	r := middle / math.Max(light, 6)
	return r * math.Sqrt(math.Sqrt(math.Sqrt(r))) // r^(9/8), for 2-2/2.4 = 1.17
}

// What is expected of a profile, so that the noise cannot hide in unknowns that
// hardly ever matter: standard deviations of the ground's slope (share of its
// light per mm; a penumbra of 40 mm that takes half has 0.013) and of the ink's lean from one edge
// to the other (share of the contrast).
const (
	shadingMM = 0.015
	leanShare = 0.2
)

// expect adds the expectation that unknown u is zero to within sigma, scale being
// the noise of the samples (unknown at first: 3 grey levels).
func (n *normal7) expect(x *[lineUnknowns]float64, u int, sigma, scale float64) {
	if math.IsInf(scale, 1) {
		scale = 3
	}
	w := scale * scale / (sigma * sigma)
	n.a[u][u] += w
	n.b[u] -= w * x[u]
}

// clampStep keeps the edges within a millimetre of where they were seen.
func clampStep(a, b float64, rough reading, mid float64) (float64, float64) {
	return clamp(a, rough.inner-mid-1, rough.inner-mid+1), clamp(b, rough.outer-mid-1, rough.outer-mid+1)
}

// lineModel returns the model at t and its derivatives by the unknowns.
func lineModel(x *[lineUnknowns]float64, t, blur float64, lean bool) (float64, [lineUnknowns]float64) {
	fa, da := normalStep((t - x[edgeIn]) / blur)
	fb, db := normalStep((t - x[edgeOut]) / blur)
	ink := x[inkLevel] + x[inkLean]*t
	f := x[groundIn] + x[slope]*t*(1-fa+fb) + (ink-x[groundIn])*fa + (x[groundOut]-ink)*fb
	var j [lineUnknowns]float64
	j[groundIn] = 1 - fa
	j[groundOut] = fb
	j[slope] = t * (1 - fa + fb)
	j[inkLevel] = fa - fb
	if lean {
		j[inkLean] = t * (fa - fb)
	}
	j[edgeIn] = -(ink - x[groundIn] - x[slope]*t) * da / blur
	j[edgeOut] = -(x[groundOut] + x[slope]*t - ink) * db / blur
	return f, j
}

// fitEdge improves a rough single edge: in, out, place and blur are unknown.
func fitEdge(q *probe, rough reading, blur, reach float64) reading {
	mid := rough.middle()
	lo := max(0, int((mid-reach-q.start)/q.step))
	hi := min(len(q.light), int((mid+reach-q.start)/q.step)+2)
	if hi-lo < 8 {
		return reading{}
	}
	var x [lineUnknowns]float64
	third := max(2, (hi-lo)/4)
	x[0] = quantile(append([]float64(nil), q.light[lo:lo+third]...), 0.5)
	x[1] = quantile(append([]float64(nil), q.light[hi-third:hi]...), 0.5)
	x[3] = blur
	var n normal7
	scale := math.Inf(1)
	for range 6 {
		n = normal7{}
		sum, count := 0.0, 0.0
		for i := lo; i < hi; i++ {
			t := q.t(i) - mid
			f, d := normalStep((t - x[2]) / x[3])
			step := x[1] - x[0]
			j := [lineUnknowns]float64{1 - f, f, -step * d / x[3], -step * d * (t - x[2]) / (x[3] * x[3])}
			res := q.light[i] - x[0] - step*f
			w := precision(x[0] + step*f)
			if a := math.Abs(res) * math.Sqrt(w); a > 2*scale {
				w *= 2 * scale / a
			}
			n.add(&j, res, w)
			sum += w * res * res
			count++
		}
		scale = math.Sqrt(sum/math.Max(1, count-4)) + 0.05
		if !n.solve(1e-4) {
			return reading{}
		}
		for u := range 4 {
			x[u] += n.x[u]
		}
		x[2] = clamp(x[2], -reach/2, reach/2)
		x[3] = clamp(x[3], blur/3, 3*blur)
	}
	out := rough
	out.inner, out.outer = x[2]+mid, x[2]+mid
	out.contrast = signedDarkening(x[0], x[1])
	out.blur = x[3] * q.pxPerMM
	out.sigma = math.Sqrt(math.Max(0, 1.5*scale*scale*n.inverse(2, 2)))
	out.ok = math.Abs(x[2]) < reach/2
	return out
}

// normalStep returns the normal distribution function and its density.
func normalStep(u float64) (f, d float64) {
	if u > 5 {
		return 1, 0
	}
	if u < -5 {
		return 0, 0
	}
	d = math.Exp(-u*u/2) / math.Sqrt(2*math.Pi)
	// Abramowitz and Stegun, "Handbook of Mathematical Functions", 26.2.17:
	// error below 7.5e-8.
	k := 1 / (1 + 0.2316419*math.Abs(u))
	f = d * k * (0.319381530 + k*(-0.356563782+k*(1.781477937+k*(-1.821255978+k*1.330274429))))
	if u > 0 {
		f = 1 - f
	}
	return f, d
}

// normal7 gathers and solves the normal equations of up to seven unknowns;
// unknowns that no sample depends on stay as they are.
type normal7 struct {
	a [lineUnknowns][lineUnknowns]float64
	b [lineUnknowns]float64
	x [lineUnknowns]float64
	l [lineUnknowns][lineUnknowns]float64 // Cholesky factor
}

func (n *normal7) add(j *[lineUnknowns]float64, res, w float64) {
	for r := range j {
		if j[r] == 0 {
			continue
		}
		wj := w * j[r]
		n.b[r] += wj * res
		for c := 0; c <= r; c++ {
			n.a[r][c] += wj * j[c]
		}
	}
}

// solve finds the step; damping is relative to the diagonal.
func (n *normal7) solve(damping float64) bool {
	for r := range n.a {
		for c := 0; c <= r; c++ {
			s := n.a[r][c]
			if r == c {
				if s <= 0 {
					s = 1
				}
				s *= 1 + damping
			}
			for k := range c {
				s -= n.l[r][k] * n.l[c][k]
			}
			if r == c {
				if !(s > 0) {
					return false
				}
				n.l[r][r] = math.Sqrt(s)
			} else {
				n.l[r][c] = s / n.l[c][c]
			}
		}
	}
	n.x = n.substitute(n.b)
	return true
}

func (n *normal7) substitute(b [lineUnknowns]float64) [lineUnknowns]float64 {
	for r := range b {
		for k := range r {
			b[r] -= n.l[r][k] * b[k]
		}
		b[r] /= n.l[r][r]
	}
	for r := lineUnknowns - 1; r >= 0; r-- {
		for k := r + 1; k < lineUnknowns; k++ {
			b[r] -= n.l[k][r] * b[k]
		}
		b[r] /= n.l[r][r]
	}
	return b
}

// inverse returns one entry of the inverse of the last equations solved.
func (n *normal7) inverse(r, c int) float64 {
	var e [lineUnknowns]float64
	e[c] = 1
	return n.substitute(e)[r]
}
