package curve

import (
	"math"

	"fairedge/internal/plane"
)

// A cubic whose ends and end tangents are given has two unknowns left, the lengths
// of its arms. fit chooses them by least squares over distances to samples of the
// parallel curve. Matching ends and tangents exactly makes the error fall with the
// sixth power of the length of the piece (Levien, "Parallel curves of cubic
// Béziers", 2022; the arms by distance here rather than by area and moment).

const (
	armSamples = 14 // places that the arms are fitted to; fewer: lobes are missed
	armChecks  = 40 // places where the error is measured; it has at most some 8 lobes
	// measuredShare corrects a greatest value taken from samples: between two of 5 per
	// lobe a parabola can rise by 5 %.
	measuredShare = 1.06
	armSteps      = 25 // few are used: the steps end when the arms stand still
	// enoughChange is a share of the arms: 1e-5 of an arm of 100 mm moves the curve by
	// less than 0.0005 mm.
	enoughChange = 1e-5
)

// fit returns the cubic for the span from a to b of the parallel curve, and its
// greatest distance from it in mm, measured at armChecks places.
func (c parallel) fit(a, b, sign float64) (Segment, float64) {
	from, to := c.ray(a, sign), c.ray(b, sign)
	var q [armSamples]plane.Point
	for i := range q {
		q[i] = c.at(a + (b-a)*float64(i+1)/(armSamples+1))
	}
	u := chordShares(from.at, q[:], to.at)
	chord := from.at.DistanceTo(to.at)
	third := c.length(a, b) / 3
	if third == 0 {
		return Line(from.at, to.at), 0
	}
	x := armFit{from, to, third, third, math.Max(chord, third) * 1e-3}
	// Beside a cusp the speed of the parallel curve is a better guess than its length.
	v := u
	y := armFit{from, to, math.Max(x.least, c.speed(a)*(b-a)/3), math.Max(x.least, c.speed(b)*(b-a)/3), x.least}
	if y.equations(q[:], v[:]).sum < x.equations(q[:], u[:]).sum {
		x, u = y, v
	}
	x.solve(q[:], u[:])
	s := x.segment()
	return s, c.distance(s, a, b) * measuredShare
}

// speed returns |Q'| at t, in mm per unit of t.
func (c parallel) speed(t float64) float64 {
	l := c.source.Derivative(t).Length()
	if l == 0 {
		return 0
	}
	return math.Abs(c.stretch(t)) / (l * l)
}

// length returns the length of the span of the parallel curve, by a sum of chords.
func (c parallel) length(a, b float64) float64 {
	const n = 8
	sum, p := 0.0, c.at(a)
	for i := 1; i <= n; i++ {
		q := c.at(a + (b-a)*float64(i)/n)
		sum += p.DistanceTo(q)
		p = q
	}
	return sum
}

// chordShares returns for each inner point its share of the way from start to end
// along the chords: a first guess of its parameter.
func chordShares(start plane.Point, inner []plane.Point, end plane.Point) [armSamples]float64 {
	var shares [armSamples]float64
	way, before := 0.0, start
	for i, q := range inner {
		way += before.DistanceTo(q)
		shares[i] = way
		before = q
	}
	way += before.DistanceTo(end)
	for i := range shares {
		shares[i] /= way
	}
	return shares
}

// armFit is a cubic from one ray to another with arms of length first and last.
type armFit struct {
	from, to    ray
	first, last float64
	least       float64 // arms are kept at least this long, in mm
}

func (x armFit) segment() Segment {
	return Cubic(x.from.at, x.from.at.Add(x.from.dir.Scale(x.first)),
		x.to.at.Add(x.to.dir.Scale(-x.last)), x.to.at)
}

// armEquations are the normal equations of one Gauss-Newton step for the two arms,
// and the sum of squared distances before it.
type armEquations struct{ aa, ab, bb, ar, br, sum float64 }

// equations moves the parameters u to the feet of the points q and sets up the
// equations. A change da of the first arm moves the point at u by 3u(1-u)² da along
// the start direction; only the part across the curve counts.
func (x armFit) equations(q []plane.Point, u []float64) armEquations {
	s := x.segment()
	var e armEquations
	for i := range q {
		u[i] = s.footNear(q[i], u[i])
		t := u[i]
		n := s.Derivative(t).Unit().TurnRight()
		r := q[i].Sub(s.At(t)).Dot(n)
		ga := 3 * t * (1 - t) * (1 - t) * x.from.dir.Dot(n)
		gb := -3 * t * t * (1 - t) * x.to.dir.Dot(n)
		e.aa, e.ab, e.bb = e.aa+ga*ga, e.ab+ga*gb, e.bb+gb*gb
		e.ar, e.br, e.sum = e.ar+ga*r, e.br+gb*r, e.sum+r*r
	}
	return e
}

// solve chooses the arms by the method of Levenberg and Marquardt (Marquardt, "An
// algorithm for least-squares estimation of nonlinear parameters", SIAM J. 11, 1963).
// The damping is needed: on a nearly straight S one arm can almost stand in for the
// other, and undamped steps run away.
func (x *armFit) solve(q []plane.Point, u []float64) {
	e := x.equations(q, u)
	damping := 1e-3
	for range armSteps {
		next := x.step(e, damping)
		f := next.equations(q, u)
		change := math.Abs(next.first-x.first) + math.Abs(next.last-x.last)
		if f.sum >= e.sum {
			if change < enoughChange*(x.first+x.last) {
				return
			}
			damping *= 8
			continue
		}
		gain := e.sum - f.sum
		*x, e = next, f
		damping /= 10
		if change < enoughChange*(x.first+x.last) || gain < 1e-3*e.sum {
			return
		}
	}
}

// step returns the arms after one damped step.
func (x armFit) step(e armEquations, damping float64) armFit {
	// The last term decides only where the points say nothing, on a straight run.
	aa, bb := e.aa*(1+damping)+1e-12, e.bb*(1+damping)+1e-12
	det := aa*bb - e.ab*e.ab
	x.first = math.Max(x.least, x.first+(e.ar*bb-e.br*e.ab)/det)
	x.last = math.Max(x.least, x.last+(e.br*aa-e.ar*e.ab)/det)
	return x
}

// footNear returns the parameter of the foot of q on the piece near t: three steps
// for (P - q)·P' = 0 that never leave [0, 1]. The slope leaves out (P - q)·P”, which
// is small beside |P'|² at the foot of a point so near, and far from it misleads.
func (s Segment) footNear(q plane.Point, t float64) float64 {
	for range 3 {
		d := s.Derivative(t)
		slope := d.LengthSq()
		if slope == 0 {
			return t
		}
		step := s.At(t).Sub(q).Dot(d) / slope
		t = clamp01(t - step)
		if step < 1e-7 && step > -1e-7 {
			return t
		}
	}
	return t
}

// distance returns the greatest distance in mm of armChecks points of the
// parallel curve between a and b from s, found by walking along both together.
func (c parallel) distance(s Segment, a, b float64) float64 {
	worst, u := 0.0, 0.0
	for i := 1; i <= armChecks; i++ {
		q := c.at(a + (b-a)*float64(i)/(armChecks+1))
		u = s.footNear(q, s.footNear(q, u+1.0/armChecks))
		worst = math.Max(worst, s.At(u).DistanceTo(q))
	}
	return worst
}
