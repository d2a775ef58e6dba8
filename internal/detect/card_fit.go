package detect

import "math"

// markFit is what the least-squares fit of one mark found.
type markFit struct {
	x, y     float64 // photo px
	sigma    float64 // standard uncertainty per axis from the fit alone, px
	blur     float64 // standard deviation of the edges' blur, px, mean of the two edges
	contrast float64 // half the difference of the tones, grey; positive when cell (+a, +b) is light
	residual float64 // rms of grey left over
	turn     float64 // largest change of an edge's direction from the start, radians
}

// The unknowns of the fit.
const (
	fitGround = iota // grey on the edges
	fitSlopeX        // light falling off across the window, grey per px
	fitSlopeY
	fitContrast // half the difference of the tones
	fitTone     // bend of the tone curve: grey falls by it where the tones are pure
	fitX        // the mark
	fitY
	fitAngle1 // directions of the edges
	fitAngle2
	fitBlur1 // their blurs
	fitBlur2
	fitUnknowns
)

// fitter fits marks in one picture:
//
//	I = ground + slope·(p - mark) + contrast·E1·E2 + tone·(E1·E2)²,
//	Ek = erf(dk / (√2 blurk))
//
// with dk the distance of p from edge k. That is two crossing edges seen through
// a Gaussian blur. The first term of the product expansion of a bent tone curve is
// the square: it is the same on both sides of the mark, as the mark is the same
// after half a turn, so it takes up the misfit without moving the mark. Under
// equal independent noise the least-squares solution is the maximum of the
// likelihood and the inverse normal matrix its covariance (Gauss, Cramér-Rao).
type fitter struct {
	picture level
	params  CardParams
	table   []erfEntry
}

type erfEntry struct{ value, slope float64 }

// The table's step and reach: linear interpolation errs by at most
// step²/8·max|E”| = (1/64)²/8·0.48 = 1.5e-5, far below a grey value.
const (
	erfPerUnit = 64
	erfReach   = 5
)

func newFitter(picture level, params CardParams) *fitter {
	f := &fitter{picture, params, make([]erfEntry, erfPerUnit*erfReach+2)}
	for k := range f.table {
		t := float64(k) / erfPerUnit
		f.table[k] = erfEntry{math.Erf(t / math.Sqrt2), math.Sqrt(2/math.Pi) * math.Exp(-t*t/2)}
	}
	return f
}

// erf returns erf(t/√2) and its derivative.
func (f *fitter) erf(t float64) (value, slope float64) {
	a := math.Abs(t) * erfPerUnit
	if a >= erfPerUnit*erfReach {
		return math.Copysign(1, t), 0
	}
	k := int(a)
	r := a - float64(k)
	e0, e1 := &f.table[k], &f.table[k+1]
	value = e0.value + r*(e1.value-e0.value)
	slope = e0.slope + r*(e1.slope-e0.slope)
	return math.Copysign(value, t), slope
}

// sample is one pixel of the window, from the window's middle.
type sample struct{ dx, dy, grey float64 }

// fitWindow is the neighbourhood of a mark: its place and one step of the
// lattice along each axis, photo px.
type fitWindow struct {
	x, y           float64
	ax, ay, bx, by float64
	blur           float64 // first guess, px
	dots           [4]bool // of the cells in the four sectors
}

// det is the signed area of a cell, px².
func (w *fitWindow) det() float64 { return w.ax*w.by - w.ay*w.bx }

// side returns the shorter height of the cell seen as a parallelogram, px.
func (w *fitWindow) side() float64 {
	return math.Abs(w.det()) / math.Max(math.Hypot(w.ax, w.ay), math.Hypot(w.bx, w.by))
}

// minFitSamples is the fewest pixels a fit is made from: three for each unknown.
const minFitSamples = 3 * fitUnknowns

// maxFitSamples is about where more pixels cost more than they gain.
const maxFitSamples = 420

// samples returns the pixels of the window: within FitRadius cells (an ellipse in
// the photo, at least 3 px, at most 0.42 cells) and within MaxFitRadius px unless
// blur asks for more. Large windows are thinned to every second or third pixel.
func (f *fitter) samples(w *fitWindow) []sample {
	det := w.det()
	if math.Abs(det) < 4 {
		return nil
	}
	radius := math.Min(math.Max(f.params.FitRadius, 3/w.side()), 0.42)
	limit := math.Max(f.params.MaxFitRadius, 4.5*w.blur)
	reach := math.Min(limit, radius*math.Max(math.Hypot(w.ax, w.ay), math.Hypot(w.bx, w.by)))
	area := math.Pi * math.Min(limit*limit, radius*radius*math.Abs(det))
	stride := max(1, int(math.Round(math.Sqrt(area/maxFitSamples))))
	x0, x1 := int(math.Floor(w.x-reach)), int(math.Ceil(w.x+reach))
	y0, y1 := int(math.Floor(w.y-reach)), int(math.Ceil(w.y+reach))
	if x0 < 0 || y0 < 0 || x1 >= f.picture.width || y1 >= f.picture.height {
		return nil
	}
	found := make([]sample, 0, maxFitSamples*3/2)
	for y := y0; y <= y1; y += stride {
		row := f.picture.pix[y*f.picture.width:]
		for x := x0; x <= x1; x += stride {
			dx, dy := float64(x)+0.5-w.x, float64(y)+0.5-w.y
			p, q := (dx*w.by-dy*w.bx)/det, (dy*w.ax-dx*w.ay)/det
			if p*p+q*q <= radius*radius && dx*dx+dy*dy <= limit*limit {
				found = append(found, sample{dx, dy, float64(row[x])})
			}
		}
	}
	return found
}

// fit fits the mark of a window. The window follows the mark once if it was more
// than half a pixel off; where the picture is so blurred that dots reach into the
// window, their share is taken out and the fit repeated.
func (f *fitter) fit(w fitWindow) (markFit, bool) {
	m, samples, ok := f.fitPlaced(w)
	if !ok {
		return m, false
	}
	moved := math.Hypot(m.x-w.x, m.y-w.y)
	if moved > 0.5*w.side() {
		return m, false
	}
	if moved > 0.5 {
		w.x, w.y = m.x, m.y
		if m, samples, ok = f.fitPlaced(w); !ok {
			return m, false
		}
	}
	for n := 0; n < dotRounds && m.blur > dotsMatter*w.side() && w.dots != [4]bool{}; n++ {
		if m, ok = f.fitSamples(&w, w.withoutDots(samples, &m)); !ok {
			return m, false
		}
	}
	return m, true
}

// fitPlaced fits the window as it lies and returns its pixels too.
func (f *fitter) fitPlaced(w fitWindow) (markFit, []sample, bool) {
	samples := f.samples(&w)
	if len(samples) < minFitSamples {
		return markFit{}, nil, false
	}
	m, ok := f.fitSamples(&w, samples)
	return m, samples, ok
}

func (f *fitter) fitSamples(w *fitWindow, samples []sample) (markFit, bool) {
	s := newFitState(w, samples)
	if !s.solve(f, thinned(samples), 1e-2) || !s.solve(f, samples, 3e-2) {
		return markFit{}, false
	}
	s.accumulate(f, samples, false)
	return s.result(w, len(samples)), true
}

// thinned returns every third sample, or all of few: the first steps need no more.
func thinned(samples []sample) []sample {
	if len(samples) < 6*minFitSamples {
		return samples
	}
	some := make([]sample, 0, len(samples)/3+1)
	for k := 0; k < len(samples); k += 3 {
		some = append(some, samples[k])
	}
	return some
}

// fitState is one fit under way.
type fitState struct {
	value  [fitUnknowns]float64
	start  [2]float64 // first angles
	sign   float64    // +1 when b lies at rising angle from a
	error2 float64    // sum of squared residuals at value
	normal [fitUnknowns][fitUnknowns]float64
	right  [fitUnknowns]float64
	sigma2 float64 // variance of x plus variance of y, for unit noise
	reach  float64 // px, upper bound of the blur
}

func newFitState(w *fitWindow, samples []sample) *fitState {
	s := &fitState{sign: math.Copysign(1, w.det()), reach: w.side()}
	s.start = [2]float64{math.Atan2(w.ay, w.ax), math.Atan2(w.by, w.bx)}
	s.value[fitAngle1], s.value[fitAngle2] = s.start[0], s.start[1]
	s.value[fitBlur1], s.value[fitBlur2] = w.blur, w.blur
	mean := 0.0
	for _, p := range samples {
		mean += p.grey
	}
	mean /= float64(len(samples))
	s.value[fitGround] = mean
	sum, n := 0.0, 0.0
	for _, p := range samples {
		d1, d2 := s.distances(p)
		if d1*d2 > 0 {
			sum += p.grey - mean
			n++
		}
	}
	s.value[fitContrast] = sum / math.Max(1, n)
	return s
}

// distances returns the distances of a pixel from the two edges, d1 (edge along
// a) rising towards b and d2 (edge along b) rising towards a.
func (s *fitState) distances(p sample) (d1, d2 float64) {
	sin1, cos1 := math.Sincos(s.value[fitAngle1])
	sin2, cos2 := math.Sincos(s.value[fitAngle2])
	x, y := p.dx-s.value[fitX], p.dy-s.value[fitY]
	d1 = s.sign * (cos1*y - sin1*x)
	d2 = -s.sign * (cos2*y - sin2*x)
	return d1, d2
}

// accumulate sums the squared residuals and, if asked, the normal equations.
func (s *fitState) accumulate(f *fitter, samples []sample, derivatives bool) {
	v := &s.value
	sin1, cos1 := math.Sincos(v[fitAngle1])
	sin2, cos2 := math.Sincos(v[fitAngle2])
	n1x, n1y := -s.sign*sin1, s.sign*cos1
	n2x, n2y := s.sign*sin2, -s.sign*cos2
	w1, w2 := 1/v[fitBlur1], 1/v[fitBlur2]
	s.error2 = 0
	if derivatives {
		s.normal = [fitUnknowns][fitUnknowns]float64{}
		s.right = [fitUnknowns]float64{}
	}
	var j [fitUnknowns]float64
	for _, p := range samples {
		x, y := p.dx-v[fitX], p.dy-v[fitY]
		t1, t2 := (n1x*x+n1y*y)*w1, (n2x*x+n2y*y)*w2
		e1, g1 := f.erf(t1)
		e2, g2 := f.erf(t2)
		e := e1 * e2
		r := p.grey - (v[fitGround] + v[fitSlopeX]*p.dx + v[fitSlopeY]*p.dy + v[fitContrast]*e + v[fitTone]*e*e)
		s.error2 += r * r
		if !derivatives {
			continue
		}
		gain := v[fitContrast] + 2*v[fitTone]*e
		h1, h2 := gain*g1*e2*w1, gain*g2*e1*w2 // by d1, by d2
		j[fitGround], j[fitSlopeX], j[fitSlopeY], j[fitContrast], j[fitTone] = 1, p.dx, p.dy, e, e*e
		j[fitX], j[fitY] = -(h1*n1x + h2*n2x), -(h1*n1y + h2*n2y)
		j[fitAngle1], j[fitAngle2] = -h1*s.sign*(cos1*x+sin1*y), h2*s.sign*(cos2*x+sin2*y)
		j[fitBlur1], j[fitBlur2] = -h1*t1, -h2*t2
		for a := range j {
			ja := j[a]
			row := &s.normal[a]
			for b := a; b < fitUnknowns; b++ {
				row[b] += ja * j[b]
			}
			s.right[a] += ja * r
		}
	}
}

// maxFitSteps is the most steps of a fit; good marks need three or four.
const maxFitSteps = 15

// solve runs Levenberg-Marquardt until a step moves the mark by less than small
// px. Near the solution the error of a Gauss-Newton step is of second order: a last
// step of 0.03 px, with blurs of 1 px, leaves some 0.001 px.
func (s *fitState) solve(f *fitter, samples []sample, small float64) bool {
	s.accumulate(f, samples, true)
	damping := 1e-4
	for range maxFitSteps {
		before := *s
		step, ok := dampedStep(&s.normal, &s.right, damping)
		if ok {
			s.move(step)
		}
		if ok && damping < 1e-2 && s.isSmall(step, small) {
			break
		}
		if ok {
			s.accumulate(f, samples, true)
		}
		if !ok || s.error2 > before.error2 || math.IsNaN(s.error2) {
			*s = before
			damping = math.Max(damping*10, 1e-3)
			if damping > 1e6 {
				break
			}
			continue
		}
		damping *= 0.1
	}
	inverse, ok := inverseDiagonal(&s.normal, fitX, fitY)
	s.sigma2 = inverse
	return ok
}

// isSmall reports whether a step hardly changes the mark, nor what it depends on.
func (s *fitState) isSmall(step [fitUnknowns]float64, small float64) bool {
	return math.Hypot(step[fitX], step[fitY]) < small &&
		math.Abs(step[fitBlur1]) < 0.1*s.value[fitBlur1] && math.Abs(step[fitBlur2]) < 0.1*s.value[fitBlur2] &&
		math.Abs(step[fitAngle1]) < 0.02 && math.Abs(step[fitAngle2]) < 0.02
}

// move takes a step; blurs stay between a fifth of a pixel and the cell's side.
func (s *fitState) move(step [fitUnknowns]float64) {
	for k := range s.value {
		s.value[k] += step[k]
	}
	for _, k := range [2]int{fitBlur1, fitBlur2} {
		s.value[k] = math.Max(0.2, math.Min(s.value[k], s.reach))
	}
}

func (s *fitState) result(w *fitWindow, n int) markFit {
	variance := s.error2 / float64(n-fitUnknowns)
	turn := func(a, b float64) float64 { return math.Abs(math.Remainder(a-b, 2*math.Pi)) }
	return markFit{
		x: w.x + s.value[fitX], y: w.y + s.value[fitY],
		sigma:    math.Sqrt(variance * s.sigma2 / 2),
		blur:     (s.value[fitBlur1] + s.value[fitBlur2]) / 2,
		contrast: s.value[fitContrast],
		residual: math.Sqrt(variance),
		turn: math.Max(turn(s.value[fitAngle1], s.start[0]),
			turn(s.value[fitAngle2], s.start[1])),
	}
}
