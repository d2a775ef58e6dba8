package pad

import (
	"math"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// The mirror axis is the line about which the outline's mirror image lies nearest to
// the outline itself. What is least is a sum over places of the outline of ρ(r), r
// the distance of the mirrored place from the outline. With ρ = r² a bump on one
// side pulls the axis by a tenth of its height; Tukey's ρ, which stops growing at a
// few times the usual r (Huber and Ronchetti, Robust statistics, 2009, section 4.8),
// leaves the bump out. Each step is a Gauss-Newton step with those weights.

// axis is a nearly upright line: it passes at offset to the right of the middle line
// at the height of pivot, and is turned counter-clockwise by tilt.
type axis struct {
	tilt, offset float64
	pivot        plane.Point // on the seat's middle line
}

// foot returns the point of the axis at the height of the pivot.
func (a axis) foot() plane.Point { return a.pivot.Add(plane.Vec{X: a.offset}) }

// normal returns the unit vector square to the axis, to the right.
func (a axis) normal() plane.Vec {
	sin, cos := math.Sincos(a.tilt)
	return plane.Vec{X: cos, Y: sin}
}

// mirror returns the image of p, and how it moves with the offset and the tilt.
func (a axis) mirror(p plane.Point) (q plane.Point, byOffset, byTilt plane.Vec) {
	n := a.normal()
	along := n.TurnLeft()
	v := p.Sub(a.foot())
	q = p.Add(n.Scale(-2 * n.Dot(v)))
	byOffset = n.Scale(2 * n.X)
	// With n' = along: d/dtilt of -2 (n·v) n.
	byTilt = n.Scale(-2 * along.Dot(v)).Add(along.Scale(-2 * n.Dot(v)))
	return q, byOffset, byTilt
}

// upright returns the motion that lays the axis on x = 0, upright.
func (a axis) upright() plane.Rigid {
	m := plane.RigidFromAngle(-a.tilt, plane.Vec{})
	m.Shift = plane.Vec{X: -m.Apply(a.foot()).X}
	return m
}

const (
	// axisPoints is how many places are mirrored. Fewer: a bump weighs more by chance;
	// more: slower.
	axisPoints = 500
	// plainRounds is how many steps go without leaving anything out, to come near from
	// a poor start; firstRounds is how many steps each start gets, and axisRounds
	// bounds those of the best one: five or six are usual.
	plainRounds, firstRounds, axisRounds = 3, 5, 25
	// leastScale is the least size of a usual difference, mm: below it everything
	// counts. Smaller: rounding decides which places count.
	leastScale = 0.02
	// tukey is the usual cut, in standard deviations.
	tukey = 4.685
	// axisStill ends the search when a step moves no place of the seat by more, mm.
	axisStill = 1e-4
)

// bestAxis returns the mirror axis of the outline near x = 0, from whichever of
// three tilts leads to the better one.
func bestAxis(net curve.Path) axis {
	b := net.Bounds()
	pivot := plane.Point{Y: b.Centre().Y}
	places := evenSpots(net, axisPoints)
	best, least := axis{pivot: pivot}, math.Inf(1)
	for _, start := range []axis{{0, 0, pivot}, {0.06, b.Centre().X, pivot}, {-0.06, b.Centre().X, pivot}} {
		a, cost := start.refined(net, places, 0, firstRounds)
		if cost < least*(1-1e-6) {
			best, least = a, cost
		}
	}
	best, _ = best.refined(net, places, plainRounds, axisRounds)
	return best
}

// refined improves the axis by the rounds from first on until it stands still, and
// returns it with the median distance it leaves.
func (a axis) refined(net curve.Path, places []curve.Spot, first, rounds int) (axis, float64) {
	reach := math.Max(net.Bounds().Width(), net.Bounds().Height())
	median := 0.0
	for round := first; round < rounds; round++ {
		eq, m := a.equations(net, places, round >= plainRounds)
		median = m
		dOffset, dTilt := eq.solve(reach)
		a.offset += dOffset
		a.tilt += dTilt
		if round > plainRounds && math.Abs(dOffset)+reach*math.Abs(dTilt) < axisStill {
			break
		}
	}
	return a, median
}

// axisEquations are the normal equations of one step.
type axisEquations struct{ oo, ot, tt, o, t float64 }

// equations gathers the step's equations with or without Tukey's weights, and the
// median distance.
func (a axis) equations(net curve.Path, places []curve.Spot, robust bool) (axisEquations, float64) {
	type row struct{ r, dOffset, dTilt float64 }
	rows := make([]row, len(places))
	sizes := make([]float64, len(places))
	for i, p := range places {
		q, byOffset, byTilt := a.mirror(p.Point)
		foot, d := net.Nearest(q)
		out := net.Segment(foot.Piece).OutwardNormal(foot.T)
		if v := q.Sub(foot.Point); d > 1e-9 { // at a corner the way there is not square to a piece
			out = v.Scale(math.Copysign(1/d, out.Dot(v)))
		}
		rows[i] = row{out.Dot(q.Sub(foot.Point)), out.Dot(byOffset), out.Dot(byTilt)}
		sizes[i] = d
	}
	slices.Sort(sizes)
	median := sizes[len(sizes)/2]
	scale := tukey * math.Max(leastScale, 1.4826*median)
	var eq axisEquations
	for _, r := range rows {
		w := 1.0
		if robust {
			u := r.r / scale
			w = math.Max(0, 1-u*u)
			w *= w
		}
		eq.oo += w * r.dOffset * r.dOffset
		eq.ot += w * r.dOffset * r.dTilt
		eq.tt += w * r.dTilt * r.dTilt
		eq.o -= w * r.dOffset * r.r
		eq.t -= w * r.dTilt * r.r
	}
	return eq, median
}

// solve returns the step. On a round seat every tilt is as good as another: a little
// damping, by the seat's size, keeps the tilt where it is.
func (e axisEquations) solve(reach float64) (dOffset, dTilt float64) {
	damping := 1e-6 * (e.oo + e.tt/(reach*reach) + 1e-9)
	oo, tt := e.oo+damping, e.tt+damping*reach*reach
	det := oo*tt - e.ot*e.ot
	if det <= 0 {
		return 0, 0
	}
	return (tt*e.o - e.ot*e.t) / det, (oo*e.t - e.ot*e.o) / det
}
