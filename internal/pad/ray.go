package pad

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// alongRay returns the least distance, in mm, at which the ray from p in the unit
// direction meets the path beyond the distance least, and false when it does not
// within most.
func alongRay(path curve.Path, p plane.Point, direction plane.Vec, least, most float64) (float64, bool) {
	best := math.Inf(1)
	for _, s := range path.Segments() {
		r := ray{s, p, direction}
		if !r.mayMeet(most) {
			continue
		}
		for _, d := range r.meetings() {
			if d >= least && d <= most {
				best = math.Min(best, d)
			}
		}
	}
	return best, !math.IsInf(best, 1)
}

// ray is a ray and one piece that it may meet.
type ray struct {
	segment   curve.Segment
	from      plane.Point
	direction plane.Vec
}

// side returns how far the point of the piece at t lies to the left of the ray.
func (r ray) side(t float64) float64 { return r.direction.Cross(r.segment.At(t).Sub(r.from)) }

// mayMeet rules out pieces whose control points lie all on one side, or all behind
// the start or beyond most: the piece lies in their hull.
func (r ray) mayMeet(most float64) bool {
	left, right, near := false, false, false
	for _, q := range []plane.Point{r.segment.P0, r.segment.P1, r.segment.P2, r.segment.P3} {
		v := q.Sub(r.from)
		across := r.direction.Cross(v)
		left, right = left || across >= -touch, right || across <= touch
		near = near || v.Dot(r.direction) <= most+touch
	}
	return left && right && near
}

// touch is how far, in mm, a ray may miss the end of a piece and still meet it:
// rays through corners pass between two pieces otherwise.
const touch = 1e-7

// raySteps is how many stretches of a piece are looked at for a change of side; a
// cubic crosses a line at most three times.
const raySteps = 16

// meetings returns the distances along the ray at which it meets the piece.
func (r ray) meetings() []float64 {
	var all []float64
	steps := raySteps
	if r.segment.Straight {
		steps = 1
	}
	a := r.side(0)
	if math.Abs(a) <= touch {
		all = append(all, r.distance(0))
	}
	for k := 1; k <= steps; k++ {
		t := float64(k) / float64(steps)
		b := r.side(t)
		switch {
		case math.Abs(b) <= touch:
			all = append(all, r.distance(t))
		case math.Abs(a) > touch && (a < 0) != (b < 0):
			all = append(all, r.distance(r.root(t-1/float64(steps), t)))
		}
		a = b
	}
	return all
}

func (r ray) distance(t float64) float64 { return r.direction.Dot(r.segment.At(t).Sub(r.from)) }

// root halves the stretch until it is as narrow as rounding.
func (r ray) root(lo, hi float64) float64 {
	below := r.side(lo) < 0
	for range 50 {
		mid := (lo + hi) / 2
		if (r.side(mid) < 0) == below {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
