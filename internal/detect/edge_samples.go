package detect

import (
	"math"
)

// samples returns what was traced, in the photo.
func (t *tracer) samples() []EdgeSample {
	out := make([]EdgeSample, len(t.chain))
	bridged := t.longGaps()
	for i, p := range t.chain {
		s := EdgeSample{SheetEdge: t.sheet[i], Bridged: bridged[i]}
		q := t.readings[i].probe
		perMM := q.pxPerMM
		if t.states[i] == measured {
			r := t.readings[i]
			s.Centre, s.Inner, s.Outer = q.at(r.middle()), q.at(r.inner), q.at(r.outer)
			s.Sigma = math.Hypot(r.sigma, t.scatter[i]) * perMM
		} else {
			half := 0.0
			if !t.isEdge(i) {
				half = t.width / 2 / t.mitre(i)
			}
			outward := t.outward(i, 2)
			s.Centre = t.bench.PhotoFromPlane(p)
			s.Inner = t.bench.PhotoFromPlane(p.Add(outward.Scale(-half)))
			s.Outer = t.bench.PhotoFromPlane(p.Add(outward.Scale(half)))
			s.Sigma = t.unseenSigma(i) * perMM
		}
		out[i] = s
	}
	return out
}

// mitre returns the cosine of half the turn at a corner, 1 elsewhere: the two
// sides of the ink meet further out there.
func (t *tracer) mitre(i int) float64 {
	if !t.corner[i] {
		return 1
	}
	a, b := t.chain[i].Sub(t.at(i-2)).Unit(), t.at(i+2).Sub(t.chain[i]).Unit()
	return math.Max(0.5, math.Cos(a.AngleTo(b)/2))
}

// unseenSigma is the standard uncertainty, mm, of a sample that was not
// measured: the scatter of its neighbours, and in a gap of length L (mm) up to
// L²/9000 in its middle, which is the sagitta by which a bend of radius 1100 mm
// that is not in the arms would leave the way across (L²/8R).
func (t *tracer) unseenSigma(i int) float64 {
	n := len(t.chain)
	ahead, back := 0, 0
	for ahead < n && t.states[wrap(i+ahead, n)] == unseen {
		ahead++
	}
	for back < n && t.states[wrap(i-back, n)] == unseen {
		back++
	}
	length := float64(ahead+back) * t.params.Step
	return 0.06 + math.Min(3, length*length/9000)
}

// longGaps marks the runs of unseen samples of at least 2 mm; shorter ones are
// rough ink.
func (t *tracer) longGaps() []bool {
	n := len(t.chain)
	out := make([]bool, n)
	least := int(2/t.params.Step + 0.5)
	for i := range n {
		if t.states[i] != unseen {
			continue
		}
		m := 1
		for m < n && t.states[wrap(i+m, n)] == unseen {
			m++
		}
		back := 0
		for back < n && t.states[wrap(i-back-1, n)] == unseen {
			back++
		}
		out[i] = m+back >= least
	}
	return out
}

// report fills in what the measuring found.
func (t *tracer) report(ev *EdgeEvidence) {
	ev.Samples = len(t.chain)
	for i, s := range t.states {
		if s == strayed {
			ev.Strayed++
		}
		if s == unseen {
			ev.BridgedMM += t.at(i).DistanceTo(t.at(i + 1))
		}
	}
	ev.LineWidthMM = t.width
	ev.BlurPx = t.blur
}
