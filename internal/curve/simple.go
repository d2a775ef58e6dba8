package curve

import (
	"math"

	"fairedge/internal/plane"
)

// IsSimple reports whether the path does not cross itself. Parts that only touch,
// or overlap by less than about 1e-5 mm, do not count as crossing.
func (p Path) IsSimple() bool { return len(p.SelfCrossings()) == 0 }

// SelfCrossings returns the points where the path crosses itself, and the joints
// where it turns straight back, in the order of the pieces. A crossing through a
// joint may be listed more than once.
func (p Path) SelfCrossings() []plane.Point {
	var points []plane.Point
	for i := range p.segments {
		if math.Abs(p.TurnAtJoint(i)) > math.Pi-1e-9 {
			points = append(points, p.segments[i].P0)
		}
	}
	arcs := p.arcs()
	var found []meeting
	for i := range arcs {
		for j := i + 1; j < len(arcs); j++ {
			if arcs[i].Straight && arcs[j].Straight && arcs[i].liesAlong(arcs[j].Segment) {
				continue // touching is allowed
			}
			found = meetings(found[:0], arcs[i], arcs[j])
			for _, m := range found {
				if !sharedJoint(arcs[i], arcs[j], m.point) {
					points = append(points, m.point)
				}
			}
		}
	}
	return points
}

func (p Path) arcs() []arc {
	var arcs []arc
	for i, s := range p.segments {
		arcs = s.arcs(arcs, i)
	}
	return arcs
}

// sharedJoint reports whether the point is a joint at which one of the arcs ends
// and the other starts.
func sharedJoint(a, b arc, q plane.Point) bool {
	const near = 10 * joinTolerance
	atJoint := func(end, start plane.Point) bool {
		return end.DistanceTo(start) <= near && end.DistanceTo(q) <= near
	}
	return atJoint(a.P3, b.P0) || atJoint(b.P3, a.P0)
}
