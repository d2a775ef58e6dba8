package detect

import (
	"math"
)

// tracer measures a course in the photo, pass by pass: each pass reads profiles
// across it, puts the samples on what they show, and fills in what they do not.
type tracer struct {
	*prober
	params EdgeParams
	kind   EdgeKind
	*course
	readings []reading
	states   []sampleState
	scatter  []float64 // of the neighbours about the smooth course, mm
	width    float64   // median of the line, mm
	contrast float64   // median of the line, share of the ground's light
	step     float64   // median contrast of the single edge, signed
	blur     float64   // of the line's edges, px
}

// sampleState says where a sample's place comes from.
type sampleState uint8

const (
	measured sampleState = iota
	strayed              // something else was measured: put on its neighbours' course
	unseen               // nothing to measure
	atCorner             // the other arm disturbs: carried on along its own arm
)

// isEdge reports whether sample i is on a single edge rather than a pen line.
func (t *tracer) isEdge(i int) bool { return t.kind == Cut || t.sheet[i] }

// trace runs the passes.
func (t *tracer) trace() {
	t.blur = 1.5
	t.roughPass(3, 5.2)
	t.advance(2.5)
	t.steady()
	t.course = t.resampled(t.params.Step)
	t.roughPass(1.5, math.Max(2.5, t.width/2+2))
	t.advance(1)
	t.steady()
	t.blur = t.lineBlur()
	t.course = t.resampled(t.params.Step)
	t.fitPass()
	t.advance(t.params.Stray)
}

// roughPass reads half-level places.
func (t *tracer) roughPass(near, reach float64) {
	t.pass(func(t *tracer, i int) reading {
		if t.isEdge(i) {
			q, ok := t.probe(i, reach+3, roughRows)
			return q.keep(ok, func() reading { return roughEdge(&q, near+2, t.step) })
		}
		q, ok := t.probe(i, reach+t.params.PenWidest/2, roughRows)
		return q.keep(ok, func() reading { return roughLine(&q, near, t.params.PenWidest) })
	})
}

// fitPass fits the profile model at every sample.
func (t *tracer) fitPass() {
	t.pass(func(t *tracer, i int) reading {
		if t.isEdge(i) {
			q, ok := t.probe(i, 4, probeRows)
			return q.keep(ok, func() reading {
				r := roughEdge(&q, 0.8, t.step)
				if r.ok {
					r = fitEdge(&q, r, 1/q.pxPerMM, math.Max(1.2, 6/q.pxPerMM))
				}
				return r
			})
		}
		q, ok := t.probe(i, t.width/2+3.5, probeRows)
		return q.keep(ok, func() reading {
			r := roughLine(&q, 0.6+t.width/4, t.width+1.5)
			if r.ok {
				r = fitLine(&q, r, t.blur/q.pxPerMM, math.Max(1.4, 5/q.pxPerMM))
			}
			return r
		})
	})
}

// pass takes a reading at every sample, on all processors, and judges them.
func (t *tracer) pass(read func(t *tracer, i int) reading) {
	t.readings = make([]reading, len(t.chain))
	spreadRows(len(t.chain), func(lo, hi int) {
		own := *t
		own.prober = t.prober.clone()
		for i := lo; i < hi; i++ {
			t.readings[i] = read(&own, i)
		}
	})
	t.survey()
	t.judge()
}

func (t *tracer) probe(i int, reach float64, rows int) (probe, bool) {
	q, ok := t.across(t.chain[i], t.outward(i, 2))
	return q, ok && t.read(&q, reach, rows)
}

// keep takes the reading, if the profile could be read, and stores the geometry
// of the probe with it, without its light.
func (q *probe) keep(ok bool, take func() reading) reading {
	var r reading
	if ok {
		r = take()
	}
	r.probe = *q
	r.probe.light = nil
	return r
}

// lineBlur returns the blur, in px, that explains sharp edges of the line best.
func (t *tracer) lineBlur() float64 {
	if t.kind == Cut {
		return 1
	}
	trials := []float64{0.35, 0.5, 0.65, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.2}
	errors := make([][]float64, len(trials))
	stride := max(1, len(t.chain)/50)
	misfits := make([][]float64, (len(t.chain)+stride-1)/stride) // by sample: one for each trial, or none
	spreadRows(len(misfits), func(lo, hi int) {
		own := *t
		own.prober = t.prober.clone()
		for k := lo; k < hi; k++ {
			misfits[k] = own.misfits(k*stride, trials)
		}
	})
	for _, m := range misfits {
		for k, misfit := range m {
			if misfit >= 0 {
				errors[k] = append(errors[k], misfit)
			}
		}
	}
	best, least := 1.0, math.Inf(1)
	for k, e := range errors {
		if m := quantile(e, 0.5); len(e) > 5 && m < least {
			best, least = trials[k], m
		}
	}
	return best
}

// misfits fits sample i with each of the blurs (px); -1 where there is no fit.
func (t *tracer) misfits(i int, trials []float64) []float64 {
	if t.isEdge(i) || t.states[i] != measured {
		return nil
	}
	q, ok := t.probe(i, t.width/2+3.5, probeRows)
	if !ok {
		return nil
	}
	rough := roughLine(&q, 0.6+t.width/4, t.width+1.5)
	out := make([]float64, len(trials))
	for k, blur := range trials {
		out[k] = -1
		if f := fitLine(&q, rough, blur/q.pxPerMM, math.Max(1.4, 5/q.pxPerMM)); rough.ok && f.ok {
			out[k] = f.misfit
		}
	}
	return out
}

// survey takes the medians that single readings are judged by.
func (t *tracer) survey() {
	var widths, contrasts, steps []float64
	for i, r := range t.readings {
		switch {
		case !r.ok:
		case t.isEdge(i):
			steps = append(steps, r.contrast)
		default:
			widths = append(widths, r.width())
			contrasts = append(contrasts, r.contrast)
		}
	}
	t.width, t.contrast, t.step = quantile(widths, 0.5), quantile(contrasts, 0.5), quantile(steps, 0.5)
}

// judge decides which readings show the edge at all.
func (t *tracer) judge() {
	t.states = make([]sampleState, len(t.readings))
	for i, r := range t.readings {
		good := r.ok
		if t.isEdge(i) {
			good = good && r.contrast*t.step > 0 && math.Abs(r.contrast) > 0.3*math.Abs(t.step)
		} else {
			good = good && r.contrast > 0.35*t.contrast &&
				r.width() > 0.45*t.width && r.width() < 1.6*t.width+0.3
		}
		if !good {
			t.states[i] = unseen
		}
	}
	n := len(t.corner)
	for i, isCorner := range t.corner {
		zone := 0
		if isCorner {
			zone = t.cornerZone(i)
		}
		for d := -zone; isCorner && d <= zone; d++ {
			t.states[wrap(i+d, n)] = atCorner
		}
	}
}

// cornerZone returns how many samples on each side of a corner feel its other
// arm: half its width, the blur of its edge, and the spread of the profiles.
func (t *tracer) cornerZone(i int) int {
	perMM := 1.0
	for _, k := range [3]int{i, i - 4, i + 4} {
		if q := t.readings[wrap(k, len(t.readings))].probe; q.pxPerMM > 0 {
			perMM = q.pxPerMM
		}
	}
	return int((t.width/2+2.5*t.blur/perMM+probeSpread+0.5)/t.params.Step) + 1
}

// offset returns how far outward of the course sample i lies, mm.
func (t *tracer) offset(i int) float64 { return t.readings[i].middle() }

// advance puts the course where the readings are: strays back on the course of
// their neighbours, gaps and corners filled; then samples it evenly again.
func (t *tracer) advance(stray float64) {
	offsets := t.dropStrays(stray)
	moved := make(chain, len(t.chain))
	for i, p := range t.chain {
		moved[i] = p.Add(t.outward(i, 2).Scale(offsets[i]))
	}
	t.chain = moved
	t.fillGaps()
	t.fillCorners()
}

// dropStrays compares each offset with the local course of its neighbours and
// returns the offsets to use.
func (t *tracer) dropStrays(limit float64) []float64 {
	n := len(t.chain)
	reach := int(12 / t.params.Step)
	offsets := make([]float64, n)
	t.scatter = make([]float64, n)
	predicted := make([]float64, n)
	ok := make([]bool, n)
	spreadRows(n, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			predicted[i], t.scatter[i], ok[i] = t.predict(i, reach)
		}
	})
	for i := range n {
		switch {
		case t.states[i] == atCorner:
		case !ok[i]:
			t.states[i] = unseen
		case t.states[i] == measured:
			offsets[i] = t.offset(i)
			if math.Abs(offsets[i]-predicted[i]) > math.Max(limit, 4*t.scatter[i]) {
				offsets[i] = predicted[i]
				t.states[i] = strayed
			}
		default:
			offsets[i] = predicted[i]
		}
	}
	return offsets
}

// predict fits a parabola to the offsets around sample i, within its own stretch
// between corners, with Tukey's weights so that up to about a third of strays do
// not matter, and returns its value at i and the scatter about it.
func (t *tracer) predict(i, reach int) (value, scatter float64, ok bool) {
	n := len(t.chain)
	var xs, ys [64]float64
	m := 0
	for _, dir := range [2]int{-1, 1} {
		for d := 0; d <= reach && m < len(xs); d++ {
			k := wrap(i+dir*d, n)
			if d > 0 && t.corner[k] {
				break
			}
			if d > 4 && d%2 == 1 {
				continue // far off, every other sample tells enough
			}
			if t.states[k] == measured && t.sheet[k] == t.sheet[i] && !(d == 0 && dir > 0) {
				xs[m], ys[m] = float64(dir*d)/float64(reach), t.offset(k)
				m++
			}
		}
	}
	if m < 5 {
		return 0, 0, false
	}
	return tukeyParabola(xs[:m], ys[:m])
}

// tukeyParabola fits y = a + bx + cx² by iteratively reweighted least squares
// with Tukey's biweight about the median, and returns a and the scatter (1.4826
// times the median absolute residual).
func tukeyParabola(xs, ys []float64) (a, scatter float64, ok bool) {
	var weights, work, away [64]float64
	for k := range xs {
		weights[k] = 1
	}
	copy(work[:], ys)
	centre := smallMedian(work[:len(ys)])
	for k, y := range ys {
		work[k] = math.Abs(y - centre)
	}
	scatter = 1.4826*smallMedian(work[:len(ys)]) + 0.005
	for k, y := range ys {
		u := (y - centre) / (3*scatter + 0.2)
		weights[k] = math.Max(0, 1-u*u) * math.Max(0, 1-u*u)
	}
	var p [3]float64
	for range 2 {
		if p, ok = weightedParabola(xs, ys, weights[:]); !ok {
			return centre, scatter, true
		}
		for k, x := range xs {
			away[k] = math.Abs(ys[k] - p[0] - p[1]*x - p[2]*x*x)
		}
		work = away
		scatter = 1.4826*smallMedian(work[:len(ys)]) + 0.002
		for k := range xs {
			u := away[k] / (5 * scatter)
			weights[k] = math.Max(0, 1-u*u) * math.Max(0, 1-u*u)
		}
	}
	return p[0], scatter, true
}

// smallMedian returns the median of a few values, sorting them in place by
// insertion: faster than a general sort at this size.
func smallMedian(v []float64) float64 {
	for i := 1; i < len(v); i++ {
		x, k := v[i], i
		for ; k > 0 && v[k-1] > x; k-- {
			v[k] = v[k-1]
		}
		v[k] = x
	}
	return v[len(v)/2]
}

// weightedParabola solves the 3 x 3 normal equations by Cramer's rule.
func weightedParabola(xs, ys, weights []float64) ([3]float64, bool) {
	var s [5]float64
	var r [3]float64
	for k, x := range xs {
		w := weights[k]
		x2 := x * x
		s[0] += w
		s[1] += w * x
		s[2] += w * x2
		s[3] += w * x2 * x
		s[4] += w * x2 * x2
		r[0] += w * ys[k]
		r[1] += w * ys[k] * x
		r[2] += w * ys[k] * x2
	}
	det := s[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(s[1]*s[4]-s[2]*s[3]) + s[2]*(s[1]*s[3]-s[2]*s[2])
	if !(math.Abs(det) > 1e-9) {
		return [3]float64{}, false
	}
	a := r[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(r[1]*s[4]-s[3]*r[2]) + s[2]*(r[1]*s[3]-s[2]*r[2])
	b := s[0]*(r[1]*s[4]-r[2]*s[3]) - r[0]*(s[1]*s[4]-s[2]*s[3]) + s[2]*(s[1]*r[2]-r[1]*s[2])
	c := s[0]*(s[2]*r[2]-s[3]*r[1]) - s[1]*(s[1]*r[2]-r[1]*s[2]) + r[0]*(s[1]*s[3]-s[2]*s[2])
	return [3]float64{a / det, b / det, c / det}, true
}
