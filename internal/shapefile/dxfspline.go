package shapefile

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// bspline is a B-spline curve in the plane, rational if its weights differ.
type bspline struct {
	degree  int
	knots   []float64
	points  []plane.Point
	weights []float64
}

// drawSpline draws a SPLINE as cubics: exactly up to degree 3 with equal weights, else
// within arcError.
func (r *dxfReader) drawSpline(e dxfEntity) {
	s := bspline{degree: int(e.number(71, 3)), knots: e.numbers(40), weights: e.numbers(41)}
	xs, ys := e.numbers(10), e.numbers(20)
	for i := range min(len(xs), len(ys)) {
		s.points = append(s.points, plane.Point{X: xs[i], Y: ys[i]})
	}
	if !s.isSound() {
		r.pen.add(curve.Line(plane.Point{X: math.NaN()}, plane.Point{})) // found by drawn
		return
	}
	segments := s.cubics(arcError / math.Max(r.pen.mm.stretch(), 1e-12))
	for i, g := range segments {
		if i == 0 {
			r.pen.moveTo(g.P0)
		}
		r.pen.cubicTo(g.P1, g.P2, g.P3)
	}
	if len(segments) > 0 && e.flags(70)&1 != 0 {
		r.pen.close()
	}
}

// mostDegree bounds the degree of a spline; drawing programs use 3 and at most 5.
const mostDegree = 25

func (s bspline) isSound() bool {
	n := len(s.points)
	if s.degree < 1 || s.degree > mostDegree || n <= s.degree || len(s.knots) != n+s.degree+1 {
		return false
	}
	for i := range s.knots {
		if math.IsNaN(s.knots[i]) || i > 0 && s.knots[i] < s.knots[i-1] {
			return false
		}
	}
	for _, w := range s.weights {
		if !(w > 0) {
			return false
		}
	}
	return (len(s.weights) == 0 || len(s.weights) == n) && s.knots[s.degree] < s.knots[n]
}

func (s bspline) isRational() bool {
	for _, w := range s.weights {
		if w != s.weights[0] {
			return true
		}
	}
	return false
}

// cubics returns the curve from its first to its last knot in use, span by span.
func (s bspline) cubics(tolerance float64) []curve.Segment {
	var out []curve.Segment
	for i := s.degree; i < len(s.points); i++ {
		a, b := s.knots[i], s.knots[i+1]
		if !(a < b) {
			continue
		}
		if s.degree <= 3 && !s.isRational() {
			out = append(out, s.exactSpan(i))
		} else {
			out = s.fitSpan(out, i, a, b, tolerance, 0)
		}
		if len(out) > mostSegments {
			return out
		}
	}
	return out
}

// blossom returns the polar form of span i at the given arguments, one a degree (Ramshaw,
// "Blossoming: a connect-the-dots approach to splines", 1987): de Boor's rule with another
// argument at each level.
func (s bspline) blossom(i int, at ...float64) plane.Point {
	p := append([]plane.Point(nil), s.points[i-s.degree:i+1]...)
	for level := 1; level <= s.degree; level++ {
		for k := s.degree; k >= level; k-- {
			left, right := s.knots[i-s.degree+k], s.knots[i+1+k-level]
			p[k] = p[k-1].Lerp(p[k], (at[level-1]-left)/(right-left))
		}
	}
	return p[s.degree]
}

// exactSpan returns span i of a curve of degree 1 to 3 as a cubic: its control points are
// the blossom at the ends' combinations, raised to degree 3.
func (s bspline) exactSpan(i int) curve.Segment {
	a, b := s.knots[i], s.knots[i+1]
	switch s.degree {
	case 1:
		p, q := s.blossom(i, a), s.blossom(i, b)
		return curve.Cubic(p, p.Lerp(q, 1.0/3), p.Lerp(q, 2.0/3), q)
	case 2:
		p, c, q := s.blossom(i, a, a), s.blossom(i, a, b), s.blossom(i, b, b)
		return curve.Cubic(p, p.Lerp(c, 2.0/3), q.Lerp(c, 2.0/3), q)
	}
	return curve.Cubic(s.blossom(i, a, a, a), s.blossom(i, a, a, b), s.blossom(i, a, b, b), s.blossom(i, b, b, b))
}

// at returns the point of span i at parameter u, by de Boor's rule in homogeneous
// coordinates.
func (s bspline) at(i int, u float64) plane.Point {
	type weighted struct{ x, y, w float64 }
	p := make([]weighted, s.degree+1)
	for k := range p {
		w := 1.0
		if len(s.weights) > 0 {
			w = s.weights[i-s.degree+k]
		}
		q := s.points[i-s.degree+k]
		p[k] = weighted{q.X * w, q.Y * w, w}
	}
	for level := 1; level <= s.degree; level++ {
		for k := s.degree; k >= level; k-- {
			left, right := s.knots[i-s.degree+k], s.knots[i+1+k-level]
			t := (u - left) / (right - left)
			p[k] = weighted{p[k-1].x + t*(p[k].x-p[k-1].x), p[k-1].y + t*(p[k].y-p[k-1].y), p[k-1].w + t*(p[k].w-p[k-1].w)}
		}
	}
	q := p[s.degree]
	return plane.Point{X: q.x / q.w, Y: q.y / q.w}
}

// fitSpan appends cubics along span i from a to b. Each meets the curve at its ends and at
// a third and two thirds of the parameter, which fixes it; it is halved until seven places
// in between lie within half the tolerance.
func (s bspline) fitSpan(out []curve.Segment, i int, a, b, tolerance float64, depth int) []curve.Segment {
	g := through(s.at(i, a), s.at(i, a+(b-a)/3), s.at(i, a+(b-a)*2/3), s.at(i, b))
	worst := 0.0
	for k := range 7 {
		t := (float64(k) + 0.5) / 7
		_, d := g.Nearest(s.at(i, a+(b-a)*t))
		worst = math.Max(worst, d)
	}
	if worst <= tolerance/2 || depth == 12 {
		return append(out, g)
	}
	m := (a + b) / 2
	return s.fitSpan(s.fitSpan(out, i, a, m, tolerance, depth+1), i, m, b, tolerance, depth+1)
}

// through returns the cubic that runs through the four points at the parameters 0, 1/3,
// 2/3 and 1.
func through(p0, p1, p2, p3 plane.Point) curve.Segment {
	mix := func(a, b, c, d float64) plane.Point {
		return plane.Point{X: a*p0.X + b*p1.X + c*p2.X + d*p3.X, Y: a*p0.Y + b*p1.Y + c*p2.Y + d*p3.Y}
	}
	return curve.Cubic(p0, mix(-5.0/6, 3, -1.5, 1.0/3), mix(1.0/3, -1.5, 3, -5.0/6), p3)
}
