package pad

import (
	"math"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// The mean of two halves pairs their points by corners and, between corners, by the
// share of the arc length: p(u) = (a(u) + b(u)) / 2. Its derivative is the mean of
// the halves' derivatives, so the directions at the joints are exact and smooth
// joints stay smooth. Between the joints of either half the mean is smooth, and one
// cubic or a few follow it (compare the mean of a point and its mirrored partner in
// Zabrodsky, Peleg and Avnir, Symmetry as a continuous feature, 1995).

const (
	// meanTolerance is how near the cubics keep to the mean, mm.
	meanTolerance = 0.04
	// cornerMatch is how far apart, in mm, two corners may lie and be the same one.
	cornerMatch = 25.0
	// nodeMerge is the least length of the first and the last piece of the mean, mm.
	nodeMerge = 3.0
	// smoothTurn is the greatest turn, in radians, of a joint that is meant to be
	// smooth: a tenth of a degree.
	smoothTurn = 0.002
	// nearlyStraight is how far in, mm, an edge that is straight on one half only may
	// bow and still be made straight.
	nearlyStraight = 0.05
)

// meanHalf returns the mean of two left halves, from the back to the front.
func meanHalf(left, right []curve.Segment) ([]curve.Segment, error) {
	if paired, ok := pairedMean(left, right); ok {
		return levelAtFold(paired), nil
	}
	a, b := newSpan(left), newSpan(right)
	ca, cb := a.corners(), b.corners()
	if len(ca) != len(cb) {
		return nil, problem.Newf(problem.Usage, "keep the left half, the right half, or the seat as traced",
			"the halves cannot be averaged: the left one has %d corners and the right one %d", len(ca), len(cb))
	}
	var out []curve.Segment
	for i := range len(ca) - 1 {
		if d := a.point(ca[i+1]).DistanceTo(b.point(cb[i+1])); d > cornerMatch {
			return nil, problem.Newf(problem.Usage, "keep the left half, the right half, or the seat as traced",
				"the halves cannot be averaged: corners of theirs lie %.0f mm apart", d)
		}
		m := mean{a: a, b: b, a0: ca[i], a1: ca[i+1], b0: cb[i], b1: cb[i+1]}
		out = append(out, m.pieces()...)
	}
	return levelAtFold(out), nil
}

// pairedMean returns the mean piece by piece where both halves are made of the same
// kinds of pieces whose joints lie near one another: it has as few pieces as they.
func pairedMean(left, right []curve.Segment) ([]curve.Segment, bool) {
	if len(left) != len(right) {
		return nil, false
	}
	for i, s := range left {
		if s.Straight != right[i].Straight || s.P3.DistanceTo(right[i].P3) > cornerMatch {
			return nil, false
		}
	}
	a, b := newSpan(left), newSpan(right)
	var out []curve.Segment
	for i := range left {
		start, end := directionAt(left, right, i), directionAt(left, right, i+1)
		if left[i].Straight {
			out = append(out, meanLine(left[i], right[i]))
			continue
		}
		m := mean{a: a, b: b, a1: a.ends[i], b1: b.ends[i], start: start, end: end}
		if i > 0 {
			m.a0, m.b0 = a.ends[i-1], b.ends[i-1]
		}
		out = append(out, m.between(0, 1, 3)...)
	}
	return out, true
}

func meanLine(a, b curve.Segment) curve.Segment {
	return curve.Line(a.P0.Lerp(b.P0, 0.5), a.P3.Lerp(b.P3, 0.5))
}

// directionAt returns the unit direction of the mean at joint i where both halves
// are smooth, or zero: that of a line beside it, or else the mean of both halves'.
func directionAt(left, right []curve.Segment, i int) plane.Vec {
	if i == 0 || i == len(left) {
		return plane.Vec{}
	}
	for _, half := range [][]curve.Segment{left, right} {
		if math.Abs(half[i-1].Tangent(1).AngleTo(half[i].Tangent(0))) > smoothTurn {
			return plane.Vec{}
		}
	}
	for _, k := range []int{i - 1, i} {
		if left[k].Straight {
			return meanLine(left[k], right[k]).Tangent(0)
		}
	}
	return left[i].Tangent(0).Add(right[i].Tangent(0)).Unit()
}

// span is an open chain of pieces with arc lengths.
type span struct {
	path curve.Path
	ends []float64
}

func newSpan(pieces []curve.Segment) span {
	s := span{path: curve.OpenPath(pieces...)}
	total := 0.0
	for _, p := range pieces {
		total += p.ArcLength(1e-6)
		s.ends = append(s.ends, total)
	}
	return s
}

func (s span) total() float64 { return s.ends[len(s.ends)-1] }

// at returns the place at arc length l, and the direction there; before chooses the
// direction of the piece that ends at a joint.
func (s span) at(l float64, before bool) (plane.Point, plane.Vec) {
	i := 0
	for i < len(s.ends)-1 && (l > s.ends[i]+1e-7 || !before && l > s.ends[i]-1e-7) {
		i++
	}
	start := 0.0
	if i > 0 {
		start = s.ends[i-1]
	}
	p := s.path.Segment(i)
	t := p.AtLength(l-start, 1e-6)
	return p.At(t), p.Tangent(t)
}

func (s span) point(l float64) plane.Point {
	p, _ := s.at(l, false)
	return p
}

// corners returns the arc lengths of both ends and of the sharp corners between.
func (s span) corners() []float64 {
	all := []float64{0}
	for i := 1; i < s.path.Len(); i++ {
		if math.Abs(s.path.Segment(i-1).Tangent(1).AngleTo(s.path.Segment(i).Tangent(0))) > foldCorner {
			all = append(all, s.ends[i-1])
		}
	}
	return append(all, s.total())
}

// isStraight reports whether the stretch lies on one straight piece, or bows by no
// more than the bound.
func (s span) isStraight(from, to, bound float64) bool {
	p, q := s.point(from), s.point(to)
	square := q.Sub(p).Unit().TurnLeft()
	for k := 1; k < 8; k++ {
		if math.Abs(square.Dot(s.point(from+(to-from)*float64(k)/8).Sub(p))) > bound {
			return false
		}
	}
	return true
}

// mean is the mean of two spans between two corners.
type mean struct {
	a, b           span
	a0, a1, b0, b1 float64 // arc lengths
	// start and end are directions that the ends must have; zero: their own.
	start, end plane.Vec
}

// at returns the mean at share u, and its derivative by u.
func (m mean) at(u float64, before bool) (plane.Point, plane.Vec) {
	la, lb := m.a1-m.a0, m.b1-m.b0
	p, s := m.a.at(m.a0+u*la, before)
	q, t := m.b.at(m.b0+u*lb, before)
	return p.Lerp(q, 0.5), s.Scale(la / 2).Add(t.Scale(lb / 2))
}

// nodes returns the shares at which the half with fewer joints has one.
func (m mean) nodes() []float64 {
	u, v := jointsOf(m.a, m.a0, m.a1), jointsOf(m.b, m.b0, m.b1)
	if len(v) < len(u) {
		u = v
	}
	return slices.Concat([]float64{0}, u, []float64{1})
}

// jointsOf returns the shares of a stretch of the span at which it has joints.
func jointsOf(s span, from, to float64) []float64 {
	var shares []float64
	for _, e := range s.ends {
		if e > from+nodeMerge && e < to-nodeMerge {
			shares = append(shares, (e-from)/(to-from))
		}
	}
	return shares
}

// pieces returns lines and cubics along the mean.
func (m mean) pieces() []curve.Segment {
	var out []curve.Segment
	nodes := m.nodes()
	for i := range len(nodes) - 1 {
		out = append(out, m.between(nodes[i], nodes[i+1], 3)...)
	}
	return out
}

// between returns the piece from share u to v, in two when one is not near enough.
func (m mean) between(u, v float64, depth int) []curve.Segment {
	p, _ := m.at(u, false)
	q, _ := m.at(v, true)
	la, lb := m.a1-m.a0, m.b1-m.b0
	if m.a.isStraight(m.a0+u*la, m.a0+v*la, nearlyStraight) && m.b.isStraight(m.b0+u*lb, m.b0+v*lb, nearlyStraight) && (v-u)*la > 10 {
		return []curve.Segment{curve.Line(p, q)}
	}
	c, worst := m.cubic(u, v)
	if worst <= meanTolerance || depth == 0 {
		return []curve.Segment{c}
	}
	w := (u + v) / 2
	return append(m.between(u, w, depth-1), m.between(w, v, depth-1)...)
}

// meanSamples is how many places between the ends a cubic is fitted to, and
// fitRounds how often their parameters follow their feet. Fewer rounds: quarter
// circles are cut in two; more only cost time.
const meanSamples, fitRounds = 15, 20

// cubic returns the cubic from share u to v with the mean's own directions and with
// arms of least squared distance, and its greatest distance from the mean. The
// parameters of the samples follow their feet on the cubic.
func (m mean) cubic(u, v float64) (curve.Segment, float64) {
	p, d := m.at(u, false)
	q, e := m.at(v, true)
	if u == 0 && m.start != (plane.Vec{}) {
		d = m.start.Scale(d.Length())
	}
	if v == 1 && m.end != (plane.Vec{}) {
		e = m.end.Scale(e.Length())
	}
	h := (v - u) / 3
	c := curve.Cubic(p, p.Add(d.Scale(h)), q.Add(e.Scale(-h)), q)
	var samples [meanSamples]plane.Point
	for k := range samples {
		samples[k], _ = m.at(u+(v-u)*float64(k+1)/(meanSamples+1), false)
	}
	worst := math.Inf(1)
	best := c
	for range fitRounds {
		var at [meanSamples]float64
		far := 0.0
		for k, s := range samples {
			t, distance := c.Nearest(s)
			at[k] = t
			far = math.Max(far, distance)
		}
		if far < worst {
			best, worst = c, far
		}
		c = withArms(p, d.Unit(), e.Unit(), q, samples[:], at[:])
	}
	return best, worst
}

// withArms returns the cubic with ends p and q, directions d and e there, and the
// arms that bring the points at the given parameters nearest to the samples.
func withArms(p plane.Point, d, e plane.Vec, q plane.Point, samples []plane.Point, at []float64) curve.Segment {
	var xx, xy, yy, x, y float64
	for k, s := range samples {
		t := at[k]
		r := 1 - t
		b1, b2 := 3*t*r*r, 3*t*t*r
		base := p.Lerp(q, b2+t*t*t)
		u, v, w := d.Scale(b1), e.Scale(-b2), s.Sub(base)
		xx, xy, yy = xx+u.Dot(u), xy+u.Dot(v), yy+v.Dot(v)
		x, y = x+u.Dot(w), y+v.Dot(w)
	}
	third := p.DistanceTo(q) / 3
	α, β := third, third
	if det := xx*yy - xy*xy; det > 1e-12*xx*yy {
		α, β = (yy*x-xy*y)/det, (xx*y-xy*x)/det
	}
	if α <= 0 || β <= 0 {
		α, β = third, third
	}
	return curve.Cubic(p, p.Add(d.Scale(α)), q.Add(e.Scale(-β)), q)
}

// levelAtFold makes the first and the last piece cross the fold square, unless there
// is a corner on it.
func levelAtFold(half []curve.Segment) []curve.Segment {
	first, last := 0, len(half)-1
	if s := half[first]; math.Abs(s.Tangent(0).Y) < math.Sin(foldCorner/2) {
		half[first] = levelStart(s)
	}
	if s := half[last]; math.Abs(s.Tangent(1).Y) < math.Sin(foldCorner/2) {
		half[last] = levelStart(s.Reversed()).Reversed()
	}
	return half
}

// levelStart returns the piece starting level: a cubic keeps its place and turns its
// first arm; a line keeps its far end and lies at that height.
func levelStart(s curve.Segment) curve.Segment {
	if s.Straight {
		return curve.Line(plane.Point{X: s.P0.X, Y: s.P3.Y}, s.P3)
	}
	p1 := plane.Point{X: s.P0.X + math.Copysign(s.P1.Sub(s.P0).Length(), s.P1.X-s.P0.X), Y: s.P0.Y}
	return curve.Cubic(s.P0, p1, s.P2, s.P3)
}
