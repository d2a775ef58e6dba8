package curve

import (
	"math"

	"fairedge/internal/plane"
)

// A cubic whose ends and end tangents are given has two unknowns left, the lengths
// of its arms. fit chooses them by least squares over distances to samples of the
// parallel curve. Matching ends and tangents exactly makes the error fall with the
// sixth power of the length of the piece (Levien, "Parallel curves of cubic
// Béziers", 2022; the arms by Gauss-Newton here rather than by area and moment).

const (
	armSamples = 14 // places that the arms are fitted to; fewer: lobes are missed
	armChecks  = 40 // places where the error is measured; it has at most some 8 lobes
	// measuredShare corrects a greatest value taken from samples: between two of 5 per
	// lobe a parabola can rise by 5 %.
	measuredShare = 1.06
	armSteps      = 8
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
	for range armSteps {
		if x.improve(q[:], u[:]) < 1e-9*third {
			break
		}
	}
	s := x.segment()
	return s, c.distance(s, a, b) * measuredShare
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

// improve makes one Gauss-Newton step: the parameters u move to the feet of the
// points q, then the arms to where the linearised distances have the least sum of
// squares. A change da of the first arm moves the point at u by 3u(1-u)² da along
// the start direction; only the part across the curve counts. It returns the change
// of the arms in mm.
func (x *armFit) improve(q []plane.Point, u []float64) float64 {
	s := x.segment()
	var aa, ab, bb, ar, br float64
	for i := range q {
		u[i] = s.footNear(q[i], u[i])
		t := u[i]
		n := s.Derivative(t).Unit().TurnRight()
		r := q[i].Sub(s.At(t)).Dot(n)
		ga := 3 * t * (1 - t) * (1 - t) * x.from.dir.Dot(n)
		gb := -3 * t * t * (1 - t) * x.to.dir.Dot(n)
		aa, ab, bb = aa+ga*ga, ab+ga*gb, bb+gb*gb
		ar, br = ar+ga*r, br+gb*r
	}
	// The damping decides only where the points say nothing, on a straight run.
	damping := 1e-9*(aa+bb) + 1e-12
	aa, bb = aa+damping, bb+damping
	det := aa*bb - ab*ab
	da, db := (ar*bb-br*ab)/det, (br*aa-ar*ab)/det
	before := *x
	x.first = clampArm(x.first+da, before.first, x.least)
	x.last = clampArm(x.last+db, before.last, x.least)
	return math.Abs(x.first-before.first) + math.Abs(x.last-before.last)
}

// clampArm keeps an arm positive and from more than doubling in one step.
func clampArm(arm, before, least float64) float64 {
	return math.Max(least, math.Max(before/3, math.Min(arm, 2*before)))
}

// footNear returns the parameter of the foot of q on the piece near t, by two
// Newton steps for (P - q)·P' = 0 that never leave [0, 1].
func (s Segment) footNear(q plane.Point, t float64) float64 {
	for range 2 {
		r, d := s.At(t).Sub(q), s.Derivative(t)
		slope := d.LengthSq() + r.Dot(s.SecondDerivative(t))
		if slope <= 0 {
			slope = d.LengthSq()
		}
		if slope == 0 {
			return t
		}
		t = clamp01(t - r.Dot(d)/slope)
	}
	return t
}

// distance returns the greatest distance in mm of armChecks points of the
// parallel curve between a and b from s, found by walking along both together.
func (c parallel) distance(s Segment, a, b float64) float64 {
	worst, u := 0.0, 0.0
	for i := 1; i <= armChecks; i++ {
		q := c.at(a + (b-a)*float64(i)/(armChecks+1))
		if u == 0 {
			u = 1.0 / armChecks
		}
		u = s.footNear(q, s.footNear(q, u))
		worst = math.Max(worst, s.At(u).DistanceTo(q))
	}
	return worst
}
